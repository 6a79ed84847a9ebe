#include "base/histogram.h"

#include <algorithm>

namespace girdle::base {

void Histogram::add(std::chrono::microseconds took) {
  const int64_t us = std::max<int64_t>(took.count(), 0);
  const auto place = std::ranges::lower_bound(bounds_, us) - bounds_.begin();
  buckets_[static_cast<size_t>(place)].fetch_add(1, std::memory_order_relaxed);
  sum_us_.fetch_add(static_cast<uint64_t>(us), std::memory_order_relaxed);
}

}  // namespace girdle::base
