// How long an outlet's work took, for who watches it.
#pragma once

#include "base/histogram.h"

namespace girdle::delivery {

// Written by the delivery thread, read by any.
struct OutletMeters {
  base::Histogram attempt;  // one message, with one delivery or a batch of them: to its answer, or to giving up
  // From when the outcome was decided until the attempt ended that brought it there, by the time of day. One that is
  // sent again counts again, from the same beginning.
  base::Histogram outcome_to_sent{base::Histogram::kLongBounds};
};

}  // namespace girdle::delivery
