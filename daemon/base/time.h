// Times as instruments and standards write them, and time zones (IANA names, through date/tz).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/clock.h"
#include "base/result.h"

namespace date {
class time_zone;
}

namespace girdle::base {

// RFC 3339 5.6, any offset, "T" or "t" or one space between date and time. Digits past the
// millisecond are dropped. A leap second (:60 at 23:59 UTC on the last day of a month) is the
// second that follows. Nothing for anything else, and for instants that are not in the years 0000
// to 9999 of UTC.
std::optional<Instant> parse_rfc3339(std::string_view text);

// "2026-11-02T10:15:30.000Z", always with milliseconds: such texts sort as the times do.
std::string format_rfc3339(Instant instant);
void append_rfc3339(std::string& out, Instant instant);

// Which of the two instants a local time means in the hour that comes twice.
enum class TwiceRule { kRefuse, kEarlier, kLater };

class Zone {
 public:
  // An IANA name, e.g. "Europe/Brussels". The error names a near one where there is one.
  static Result<Zone> find(std::string_view name);
  static Zone utc();

  // A local time, in milliseconds since 1970-01-01T00:00 of the local calendar. An error (text
  // only, no place) for the hour that does not come, and for the hour that comes twice unless
  // `twice` picks one.
  Result<Instant> to_instant(int64_t local_millis, TwiceRule twice) const;

  // The offset from UTC at an instant, in seconds, east positive.
  int64_t offset_seconds(Instant instant) const;
  const std::string& name() const { return name_; }

 private:
  Zone(const date::time_zone* zone, std::string name) : zone_(zone), name_(std::move(name)) {}
  const date::time_zone* zone_;  // lives as long as the program
  std::string name_;
  // The last unambiguous stretch that was looked up: most records of a file fall in one.
  mutable int64_t cached_from_ = 1, cached_to_ = 0, cached_offset_ = 0;
};

// How a date field is written: `rfc3339`, `unix`, `unix_ms`, or a pattern in the letters of
// strptime: %Y %y %m %d %e %b %B %H %I %p %M %S (with a fraction after "." or "," where the text
// gives one and the pattern has no such mark there itself) %f %j %z %Z (UTC, GMT and Z only) %T %D
// %F %R %%, and %n %t for any white space, none too. Everything else stands for itself. Names of
// months are English, in any case. A form must give year, month and day; a smaller part needs the
// larger one.
class TimeForm {
 public:
  // A form that only writes may leave out what a time has: `%H:%M` in a column of its own.
  enum class Use { kRead, kWrite };
  static Result<TimeForm> compile(std::string_view form, Use use = Use::kRead);

  // The whole text must fit. With %z, rfc3339, unix and unix_ms the zone is not consulted.
  // Impossible dates (31 February, 25 o'clock) are errors; the text says what is wrong with which
  // value.
  Result<Instant> parse(std::string_view text, const Zone& zone, TwiceRule twice) const;

  // Appends the time as the zone's clocks show it: what parse() reads back as the same instant, but
  // for what the form does not give (the zone, which of the hours that come twice, a fraction).
  // rfc3339 has milliseconds and the zone's offset, "Z" in UTC; unix has whole seconds; %S has no
  // fraction, %f three digits; %b is three letters and %B the whole name; %n and %t are a line feed
  // and a tab. A form with %Z is written in UTC, the one zone whose name can be read back. False,
  // with `out` as it was, where the local year is not one of 0000 to 9999.
  bool append(std::string& out, Instant instant, const Zone& zone) const;
  // With %Z, unix and unix_ms no zone says anything.
  bool asks_for_zone() const;

 private:
  enum class Kind { kRfc3339, kUnix, kUnixMillis, kPattern };
  Kind kind_ = Kind::kRfc3339;
  std::string form_;     // as it was written
  std::string pattern_;  // with abbreviations (%T, %F, ...) written out
};

// Durations of the configuration: `200ms`, `45s`, `2min`, `8h`, `30d`; a whole number and one unit.
std::optional<Millis> parse_duration(std::string_view text);
std::string format_duration(Millis duration);

}  // namespace girdle::base
