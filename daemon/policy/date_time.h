// Dates, times of day and date-times of decision tables.
//
// Sources: DMN 1.5, 10.3.2.3.4 to 10.3.2.3.6 (values), Tables 53 and 54 (equality, order), XML
// Schema 1.1 part 2 (how they are written). Years from -999,999,999 to 999,999,999 of the proleptic
// Gregorian calendar; fractions of a second to the nanosecond. Own fields, not a system library's
// range. Plain values of at most 32 bytes; any thread.
#pragma once

#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <string_view>

#include "base/result.h"

namespace date {
class time_zone;
}

namespace girdle::policy {

inline constexpr int64_t kMaxYear = 999'999'999;
inline constexpr int64_t kSecondNanos = 1'000'000'000;
inline constexpr int64_t kDaySeconds = 86'400;

using Nanos = __int128;  // ten thousand million years do not fit 64 bits

struct Date {
  int32_t year = 1;
  uint8_t month = 1, day = 1;

  // "2026-11-02": four to nine digits of the year, none in front that are zero beyond four. The
  // error says what is wrong, after the text: "has no month 13".
  static base::Result<Date> parse(std::string_view text);
  // Nothing outside the years.
  static std::optional<Date> from_days(int64_t days);
  int64_t days() const;  // since 1970-01-01
  // The day stays where the month has it, else it is the month's last
  // (op:add-yearMonthDuration-to-date, 9.4).
  std::optional<Date> plus_months(int64_t months) const;

  std::string text() const;
  friend auto operator<=>(const Date&, const Date&) = default;
};

// How far a clock is ahead of UTC: a fixed offset, a zone by name, or not said.
struct Offset {
  static constexpr int32_t kUnknown = std::numeric_limits<int32_t>::min();
  // In seconds. Of a zone it is known where there is a date, and is not for a time of day by
  // itself.
  int32_t seconds = kUnknown;
  const ::date::time_zone* zone = nullptr;  // lives as long as the program

  bool is_given() const { return seconds != kUnknown || zone != nullptr; }
  bool is_known() const { return seconds != kUnknown; }
  void append_to(std::string& out) const;
};

struct Time {
  int32_t second = 0;  // of the day, under 86,400
  int32_t nanos = 0;
  Offset offset = {};

  // "10:15:30", "10:15:30.5+01:00", "10:15:30@Europe/Brussels"; 24:00:00 is 00:00:00 (XML
  // Schema 1.1, 3.3.8).
  static base::Result<Time> parse(std::string_view text);
  static Time from_nanos(Nanos since_midnight, const Offset& offset);  // any day's
  Nanos since_midnight() const { return Nanos{second} * kSecondNanos + nanos; }
  // Where both have a known offset that of UTC; nothing where only one has an offset, or a zone
  // without a date.
  static std::optional<Nanos> difference(const Time& a, const Time& b);

  std::string text() const;
};

struct DateTime {
  Date date = {};
  Time time = {};

  // A date, "T", and a time; a date alone is its midnight. 24:00:00 is the next day's (XML
  // Schema 1.1, 3.3.7).
  static base::Result<DateTime> parse(std::string_view text);
  // With the offset that its zone has at that local time: in the hour that comes twice the first,
  // in the one that does not come that of before (as RFC 5545, 3.3.5 has it). Nothing outside the
  // years.
  static std::optional<DateTime> from_local(Nanos since_epoch, const Offset& offset);
  // The same, of UTC.
  static std::optional<DateTime> from_instant(Nanos since_epoch, const Offset& offset);
  Nanos local() const {
    return Nanos{date.days()} * kDaySeconds * kSecondNanos + time.since_midnight();
  }
  // Nothing where only one has an offset.
  static std::optional<Nanos> difference(const DateTime& a, const DateTime& b);

  std::string text() const;
};

// Negative, zero or positive; nothing where the two do not compare: of times whose offsets hang on
// a date. Where only one has an offset, the other takes it (Table 54; for = as well, our choice).
std::optional<int> compare(const Time& a, const Time& b);
int compare(const DateTime& a, const DateTime& b);

inline bool operator==(const Time& a, const Time& b) { return compare(a, b) == 0; }
inline bool operator==(const DateTime& a, const DateTime& b) { return compare(a, b) == 0; }
inline bool operator<(const Time& a, const Time& b) { return compare(a, b).value_or(0) < 0; }
inline bool operator<(const DateTime& a, const DateTime& b) { return compare(a, b) < 0; }

}  // namespace girdle::policy
