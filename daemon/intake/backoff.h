// Growing pauses between attempts. Pure but for the random numbers, which are the caller's.
#pragma once

#include <algorithm>
#include <chrono>

namespace girdle::intake {

class Backoff {
 public:
  using Millis = std::chrono::milliseconds;

  // Doubles from `first` to `most`. `jitter`: the part of a pause that is left to chance, 0 to 1.
  Backoff(Millis first, Millis most, double jitter)
      : first_(first), most_(most), jitter_(jitter), next_(first) {}

  // `chance`: 0 to 1, at random.
  Millis next(double chance) {
    const Millis pause = next_;
    next_ = std::min(most_, 2 * next_);
    return std::chrono::duration_cast<Millis>(pause * (1 - jitter_ * chance));
  }
  void reset() { next_ = first_; }

 private:
  Millis first_, most_;
  double jitter_;
  Millis next_;
};

}  // namespace girdle::intake
