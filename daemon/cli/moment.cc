#include "cli/moment.h"

#include "base/text.h"
#include "base/time.h"

namespace girdle::cli {

base::Result<base::Instant> moment(const std::string& text, base::Instant fallback) {
  if (text.empty()) return fallback;
  if (const auto instant = base::parse_rfc3339(text)) return *instant;
  if (const auto instant = base::parse_rfc3339(text + "T00:00:00Z")) return *instant;
  if (const auto ago = base::parse_duration(text)) return base::SystemClock().now() - *ago;
  return base::call_error(
      base::in_quotes(text) +
      " is neither a time such as 2026-11-02T10:15:30Z, a date, nor a duration such as 8h");
}

}  // namespace girdle::cli
