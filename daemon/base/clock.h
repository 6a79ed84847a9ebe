// The time of day, behind an interface: nobody else in the program asks for it, so tests decide what time it is.
#pragma once

#include <atomic>
#include <chrono>

namespace girdle::base {

// A moment, UTC, in milliseconds: what instruments print and what the ledger stores.
using Instant = std::chrono::sys_time<std::chrono::milliseconds>;
using Millis = std::chrono::milliseconds;

inline int64_t to_millis(Instant instant) { return instant.time_since_epoch().count(); }
inline Instant from_millis(int64_t milliseconds) { return Instant(Millis(milliseconds)); }

// Thread-safe.
class Clock {
 public:
  virtual ~Clock() = default;
  virtual Instant now() const = 0;
  // How much time has passed since some moment: goes on evenly while people and networks set the time of day.
  virtual Millis elapsed() const = 0;
};

class SystemClock final : public Clock {
 public:
  Instant now() const override {
    return std::chrono::time_point_cast<Millis>(std::chrono::system_clock::now());
  }
  Millis elapsed() const override {
    return std::chrono::duration_cast<Millis>(std::chrono::steady_clock::now().time_since_epoch());
  }
};

// Stands still until it is moved: by time that passes, or by somebody who sets it.
class ManualClock final : public Clock {
 public:
  explicit ManualClock(Instant start) : millis_(to_millis(start)) {}
  Instant now() const override { return from_millis(millis_.load()); }
  void set(Instant instant) { millis_.store(to_millis(instant)); }
  Millis elapsed() const override { return Millis(elapsed_.load()); }
  void advance(Millis by) {
    millis_.fetch_add(by.count());
    elapsed_.fetch_add(by.count());
  }

 private:
  std::atomic<int64_t> millis_;
  std::atomic<int64_t> elapsed_{0};
};

}  // namespace girdle::base
