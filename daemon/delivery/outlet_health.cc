#include "delivery/outlet_health.h"

#include <utility>

namespace girdle::delivery {

bool OutletHealth::worked() {
  streak_ = 0;
  back_off_until_ = base::Instant::min();
  return std::exchange(told_failing_, false);
}

bool OutletHealth::failed(base::Instant now, base::Millis asked) {
  static constexpr int kDoublings = 7;  // from the first pause past the longest
  if (streak_ < patience_ + kDoublings) ++streak_;
  asked_until_ = std::max(asked_until_, now + std::min(asked, kLongestAsked));
  if (one_at_a_time())
    back_off_until_ = now + std::min(kFirstPause * (1 << (streak_ - patience_)), kLongestPause);
  if (told_failing_ || now < quiet_until_) return false;
  quiet_until_ = now + kQuiet;
  told_failing_ = true;
  return true;
}

}  // namespace girdle::delivery
