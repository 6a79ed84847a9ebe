// What the stages count while they work, for /metrics. Atomics: written by one thread, read by another, never waited for.
#pragma once

#include <array>
#include <atomic>
#include <cstdint>

#include "api/instrument_meters.h"
#include "base/clock.h"
#include "base/histogram.h"
#include "model/words.h"

namespace girdle::api {

// Its add() is in base/histogram.cc; a base::Stopwatch measures what is added.
using Histogram = base::Histogram;
using Count = std::atomic<uint64_t>;

// Since the service started. What is counted is durable: whoever writes adds after the commit.
struct Meters {
  base::Instant started{};  // written before anybody else has this
  Count readings{0}, duplicates{0}, corrections{0}, voids{0}, declarations{0}, scans{0}, asides{0};
  std::array<Count, 5> outcomes{};  // by disposition
  Count decided_by_hand{0};
  InstrumentMeters instruments;  // the readings again, and the voids among them; corrections are readings, duplicates are none
  Histogram commit;  // a transaction, from its begin to the durable end
};

}  // namespace girdle::api
