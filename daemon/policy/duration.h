// Durations of decision tables: of days and time, and of years and months. A month has no fixed
// length, so the two do not compare.
//
// Sources: DMN 1.5, 10.3.2.3.7 and 10.3.2.3.8; how they are written: XPath data model,
// dayTimeDuration and yearMonthDuration. Plain values; any thread.
#pragma once

#include <compare>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>

#include "base/decimal.h"
#include "base/result.h"
#include "policy/date_time.h"

namespace girdle::policy {

struct DaysDuration {
  static constexpr Nanos kMost = Nanos{1'000'000'000'000} * 1'000'000'000'000 * kSecondNanos;
  Nanos nanos = 0;  // at most kMost either way

  static std::optional<DaysDuration> of(Nanos nanos);
  // In seconds; rounded half to even to the nanosecond.
  static std::optional<DaysDuration> of_seconds(const base::Decimal& seconds);
  base::Decimal seconds() const;
  std::string text() const;  // "P1DT2H", "PT0S"; no part is larger than it has to be
  friend auto operator<=>(const DaysDuration&, const DaysDuration&) = default;
};

struct MonthsDuration {
  static constexpr int64_t kMost = 1'000'000'000'000'000;
  int64_t months = 0;  // at most kMost either way

  static std::optional<MonthsDuration> of(int64_t months);
  // The part of a month that is left over is dropped (DMN TCK 0100-arithmetic: 23 months × -2.5 are
  // -57).
  static std::optional<MonthsDuration> of_months(const base::Decimal& months);
  std::string text() const;  // "P1Y2M", "P0M"
  friend auto operator<=>(const MonthsDuration&, const MonthsDuration&) = default;
};

using Duration = std::variant<DaysDuration, MonthsDuration>;

// "P1DT2H3M4.5S", "-P8Y4M". The error says what is wrong, after the text.
base::Result<Duration> parse_duration(std::string_view text);

}  // namespace girdle::policy
