// A check in the making, in the process where it runs: where it is, what it found.
//
// What is told goes to the parent at once, so that it is known also when the reader then crashes.
// Thread-safe but for at(); lives until the process ends.
#pragma once

#include <array>
#include <atomic>
#include <chrono>
#include <cstdint>
#include <map>
#include <mutex>
#include <string>
#include <string_view>

namespace girdle::vet {

// What the reader is doing.
enum class Call : int {
  kNone,
  kLoad,
  kNegotiate,
  kDescriptorAt,
  kCreate,
  kFeed,
  kFinish,
  kConsumed,
  kSave,
  kDestroy,
  kExtension,
  kText,  // its host reads a text that it gave
};

// Memory that both processes see: what there is to tell of a process that cannot tell any more.
struct SharedState {
  struct Range {
    std::atomic<uintptr_t> begin{0}, end{0};
  };

  std::atomic<int> call{0};
  std::atomic<uint64_t> calls{0};   // so far: a hang is when it stays
  std::atomic<uint64_t> change{0};  // the number of the changed sample at hand; 0 = as it is
  std::array<char, 512> where{};

  // What was lent to the reader, with a page behind each that nobody may touch.
  std::array<Range, 16> lent;

  // Of the signal that ended the process.
  std::atomic<int> signal{0};
  std::atomic<int> system_call{-1};
  std::atomic<uintptr_t> address{0};
};

// A message to the parent: what it is, and its texts.
enum class Tell : char {
  kFault = 'F',
  kTimes = 'T',
  kNote = 'N',
  kMeasure = 'M',
  kTried = 'C',
  kCannot = 'X'
};

class Trial {
 public:
  using Clock = std::chrono::steady_clock;

  // `report` is a pipe to the parent.
  Trial(SharedState& shared, int report, std::chrono::milliseconds time)
      : shared_(shared), report_(report), end_(Clock::now() + time) {}

  // "001-a.csv, cut at 17": goes with each fault from now on.
  void at(std::string_view where);
  std::string where() const { return shared_.where.data(); }
  // The sample at hand is changed in this way; 0 = as it is.
  void change(uint64_t number) { shared_.change = number; }

  // The first of its rule is told, and the others counted.
  void fault(std::string_view rule, std::string_view what, std::string_view right);
  bool told(std::string_view rule) const;
  // The first of its text.
  void note(std::string_view text);
  // The check cannot be made here, for this reason.
  void cannot(std::string_view reason);
  // As Measure has it: counts add up over the samples.
  void measure(std::string_view name, int64_t value, std::string_view unit = {});
  void tried(uint64_t times = 1) { tried_ += times; }
  // Tells the counts. Nothing may follow.
  void done();

  // Whether there is time for more of the same.
  bool time_left() const { return Clock::now() < end_; }

  SharedState& shared() { return shared_; }
  int report() const { return report_; }

 private:
  void tell(Tell kind, std::initializer_list<std::string_view> texts);

  SharedState& shared_;
  const int report_;
  const Clock::time_point end_;
  mutable std::mutex mutex_;
  std::map<std::string, uint64_t, std::less<>> faults_;  // rule, times
  std::map<std::string, uint64_t, std::less<>> notes_;
  std::atomic<uint64_t> tried_{0};
};

// While it lives, the reader is in that call.
class InCall {
 public:
  InCall(Trial& trial, Call call) : shared_(trial.shared()), before_(shared_.call) {
    shared_.call = static_cast<int>(call);
    shared_.calls.fetch_add(1, std::memory_order_relaxed);
  }
  ~InCall() { shared_.call = before_; }
  InCall(const InCall&) = delete;
  InCall& operator=(const InCall&) = delete;

 private:
  SharedState& shared_;
  const int before_;
};

}  // namespace girdle::vet
