// Dates of HTTP, and the Retry-After header (RFC 9110 5.6.7 and 10.2.3).
#pragma once

#include <optional>
#include <string_view>

#include "base/clock.h"

namespace girdle::delivery {

// Any of the three forms: "Sun, 06 Nov 1994 08:49:37 GMT", "Sunday, 06-Nov-94 08:49:37 GMT",
// "Sun Nov  6 08:49:37 1994". A two-digit year that would lie more than 50 years after `now` is of
// the century before. The name of the day must be one, but is not compared with the date. Nothing
// for anything else.
std::optional<base::Instant> parse_http_date(std::string_view text, base::Instant now);

// How long to wait from `now`: whole seconds, or until a date (0 when it has passed). Never more
// than a year, however large the number.
std::optional<base::Millis> parse_retry_after(std::string_view text, base::Instant now);

}  // namespace girdle::delivery
