// Whether an outlet takes anything at present, how hard to try while it does not, and when that is
// news.
#pragma once

#include <algorithm>

#include "base/clock.h"

namespace girdle::delivery {

// After `patience` failures in a row only one attempt is made at a time, with pauses that grow to
// five seconds: a dead receiver with a million waiting deliveries costs next to nothing, and the
// first success opens the tap again. (Common practice, no source.)
class OutletHealth {
 public:
  static constexpr base::Millis kFirstPause{50};
  static constexpr base::Millis kLongestPause{5000};
  // Retry-After holds for the delivery that got it for as long as it says; for the others at most
  // this long.
  static constexpr base::Millis kLongestAsked{60000};
  // A receiver that comes and goes fills no log: at most one warning in this time.
  static constexpr base::Millis kQuiet{60000};

  explicit OutletHealth(int patience) : patience_(patience) {}

  // A person says that what was in the way is mended: neither pause nor patience is left over.
  void forget() { *this = OutletHealth(patience_); }

  // Each returns true when a person should be told of it.
  bool worked();
  bool failed(base::Instant now, base::Millis asked);

  bool failing() const { return streak_ > 0; }
  bool one_at_a_time() const { return streak_ >= patience_; }
  bool paused(base::Instant now) const { return now < pause_until(); }
  base::Instant pause_until() const { return std::max(asked_until_, back_off_until_); }

 private:
  int patience_;
  int streak_ = 0;  // failures since the last success
  base::Instant asked_until_ = base::Instant::min();
  base::Instant back_off_until_ = base::Instant::min();
  bool told_failing_ = false;
  base::Instant quiet_until_ = base::Instant::min();
};

}  // namespace girdle::delivery
