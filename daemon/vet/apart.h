// Runs what may crash, hang or flood in a process of its own, and tells what became of it.
#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "vet/trial.h"

namespace girdle::vet {

// Under a sanitizer there are no limits on memory, and crashes are the sanitizer's to tell.
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
inline constexpr bool kSanitized = true;
#elif defined(__has_feature)
#if __has_feature(address_sanitizer) || __has_feature(thread_sanitizer)
inline constexpr bool kSanitized = true;
#else
inline constexpr bool kSanitized = false;
#endif
#else
inline constexpr bool kSanitized = false;
#endif

struct Bounds {
  std::chrono::milliseconds time{5000};   // for the body to look at: Trial::time_left
  std::chrono::milliseconds call{10000};  // processor time of one call of the reader
  uint64_t memory = uint64_t{2} << 30;    // bytes of address space, beyond what there is
};

struct Ending {
  enum class How {
    kDone,
    kCrashed,
    kHung,
    kExited,     // the process ended in a call of the reader, without a signal
    kForbidden,  // a system call that allow_only() did not let through
  };

  How how = How::kDone;
  Call call = Call::kNone;
  std::string where;
  uint64_t change = 0;  // of the sample at hand
  int signal = 0;
  int system_call = -1;
  uintptr_t address = 0;
  enum class Touched { kNothingLent, kBehind, kAfterwards } touched = Touched::kNothingLent;
  std::string output;  // what the process wrote to standard output and error, cut
};

struct Message {
  Tell kind;
  std::vector<std::string> texts;
};

// Runs `body` in a fork of this process, whose standard output and error come out in the Ending.
// The caller has one thread. Errors: the system gives no process, pipe or memory.
base::Result<Ending> run_apart(const Bounds& bounds, const std::function<void(Trial&)>& body,
                               std::vector<Message>& messages);

// What is wrong with an end that is not kDone, and what would be right; as Fault has them.
struct EndingWords {
  std::string rule, what, right;
};
EndingWords words_of(const Ending& ending);

std::string_view name_of(Call call);  // "feed"

}  // namespace girdle::vet
