// A point in time as a person gives it on the command line.
#pragma once

#include <string>

#include "base/clock.h"
#include "base/result.h"

namespace girdle::cli {

// A time, a date, or a duration before now: "2026-11-02T10:15:30Z", "2026-11-02", "8h". `fallback`
// for an empty text.
base::Result<base::Instant> moment(const std::string& text, base::Instant fallback);

}  // namespace girdle::cli
