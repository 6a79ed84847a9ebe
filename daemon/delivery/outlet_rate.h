// How often an outlet may be asked: attempts spread evenly over each minute.
#pragma once

#include "base/clock.h"

namespace girdle::delivery {

class OutletRate {
 public:
  // 0: as often as it takes.
  explicit OutletRate(int per_minute) : gap_(per_minute > 0 ? 60'000'000 / per_minute : 0) {}

  base::Instant next() const { return std::chrono::ceil<base::Millis>(next_); }
  void count(base::Instant now) {
    // One that was made as soon as it might is on time: parts of a millisecond do not add up.
    const bool on_time = Time(now) - next_ < base::Millis(1);
    next_ = (on_time ? next_ : Time(now)) + gap_;
  }

 private:
  using Micros = std::chrono::microseconds;
  using Time = std::chrono::sys_time<Micros>;
  Micros gap_;
  Time next_{};  // no attempt before
};

}  // namespace girdle::delivery
