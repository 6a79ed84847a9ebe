// The time by which deliveries are due: the wall clock's, but it never goes back. A clock that is set back by a day must
// not keep a delivery waiting for a day.
#pragma once

#include <algorithm>

#include "base/clock.h"

namespace girdle::delivery {

// Where the wall clock is set back, this one goes on evenly from where it was; where that is set forward, it follows. On
// one thread. `clock` outlives it.
class ForwardTime {
 public:
  // Less than this is no step: networks pull clocks gently.
  static constexpr base::Millis kStep{1000};

  explicit ForwardTime(const base::Clock& clock) : clock_(clock), last_(clock.now()), last_elapsed_(clock.elapsed()) {}

  base::Instant now() {
    const base::Instant wall = clock_.now();
    const base::Millis elapsed = clock_.elapsed();
    const base::Instant expected = last_ + (elapsed - last_elapsed_);
    if (wall + ahead_ < expected - kStep) ahead_ = expected - wall;
    last_ = std::max(last_, wall + ahead_);
    last_elapsed_ = elapsed;
    return last_;
  }

 private:
  const base::Clock& clock_;
  base::Instant last_;
  base::Millis last_elapsed_;
  base::Millis ahead_{0};  // of the wall clock
};

}  // namespace girdle::delivery
