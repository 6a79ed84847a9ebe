// How far an instrument's clock is off, as its readings show it. /metrics (metrics.cc) and the route /api/v1/instruments
// (instruments.cc) tell the same number.
#pragma once

#include <optional>
#include <span>

#include "api/desk.h"
#include "base/clock.h"
#include "base/result.h"
#include "ledger/ledger.h"

namespace girdle::api {

inline constexpr size_t kClockReadings = 20;

// The smallest of came_at - measured_at over the first kClockReadings of `latest` (the latest first) that came at once: by
// a line or a post, through an intake that is configured. A folder's have the time of their file, which says nothing.
// Nothing where none did. Between measuring and coming lie a person's waiting, the line's, and the error of the
// instrument's clock; the smallest difference has the least of the first two. Negative: that clock is ahead of ours.
// Asks the ledger for names that it knows by heart, and nothing else.
std::optional<base::Millis> clock_offset(ledger::Ledger& ledger, const House& house,
                                         std::span<const ledger::StoredReading> latest);

// The same, after a bounded look for an instrument's latest readings.
base::Result<std::optional<base::Millis>> clock_offset_of(ledger::Ledger& ledger, const House& house,
                                                          ledger::Number instrument);

}  // namespace girdle::api
