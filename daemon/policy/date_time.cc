#include "policy/date_time.h"

#include <date/tz.h>

#include <algorithm>
#include <exception>

#include "base/calendar.h"
#include "base/cursor.h"
#include "base/time.h"

namespace girdle::policy {
namespace {

using base::Cursor;
using base::input_error;
using base::Result;

constexpr Nanos kDayNanos = Nanos{kDaySeconds} * kSecondNanos;
constexpr int64_t kMaxOffset = 14 * 3600;  // XML Schema 1.1, and DMN Table 65 (time offset)

constexpr Nanos floor_divide(Nanos value, Nanos by) {
  return value / by - (value % by < 0 ? 1 : 0);
}

void append_padded(std::string& out, int64_t value, size_t digits) {
  const std::string text = std::to_string(value);
  if (text.size() < digits) out.append(digits - text.size(), '0');
  out += text;
}

void append_clock(std::string& out, int64_t second) {
  append_padded(out, second / 3600, 2);
  out += ':';
  append_padded(out, second / 60 % 60, 2);
}

// What date/tz can be asked: it counts years in 16 bits. Beyond, the last rule it has goes on.
date::local_seconds asked_second(Nanos local) {
  constexpr Nanos kFar = 400'000'000'000;
  const Nanos second = std::clamp(floor_divide(local, kSecondNanos), -kFar, kFar);
  return date::local_seconds(std::chrono::seconds(static_cast<int64_t>(second)));
}

int32_t zone_offset_at_local(const date::time_zone& zone, Nanos local) {
  try {
    return static_cast<int32_t>(zone.get_info(asked_second(local)).first.offset.count());
  } catch (const std::exception&) {
    return 0;
  }
}

int32_t zone_offset_at(const date::time_zone& zone, Nanos instant) {
  try {
    const date::sys_seconds second(asked_second(instant).time_since_epoch());
    return static_cast<int32_t>(zone.get_info(second).offset.count());
  } catch (const std::exception&) {
    return 0;
  }
}

Result<const date::time_zone*> zone_named(std::string_view name) {
  if (auto known = base::Zone::find(name); !known) return known.error();
  try {
    return date::locate_zone(std::string(name));
  } catch (const std::exception& failure) {
    return input_error(failure.what());
  }
}

// Digits after the point; more than nine only where they are zeros.
bool take_fraction(Cursor& at, int32_t& nanos) {
  int64_t value = 0;
  int count = 0;
  for (; at.peek() >= '0' && at.peek() <= '9'; at.skip(1), ++count) {
    if (count < 9) value = value * 10 + (at.peek() - '0');
    if (count >= 9 && at.peek() != '0') return false;
  }
  for (int n = count; n < 9; ++n) value *= 10;
  nanos = static_cast<int32_t>(value);
  return count > 0;
}

Result<Offset> parse_offset(Cursor& at) {
  Offset offset;
  if (at.done()) return offset;
  if (at.take('@')) {
    auto zone = zone_named(at.rest());
    if (!zone) return input_error("names a zone that is not known: " + zone.error().text);
    offset.zone = *zone;
    return offset;
  }
  int64_t hours = 0, minutes = 0;
  if (at.take('Z')) {
    offset.seconds = 0;
  } else if (const bool minus = at.peek() == '-'; at.take('-') || at.take('+')) {
    const bool whole = at.take_digits(2, 2, hours) && at.take(':') && at.take_digits(2, 2, minutes);
    if (!whole) return input_error("has an offset that is not written like +01:00");
    const int64_t seconds = hours * 3600 + minutes * 60;
    if (minutes > 59 || seconds > kMaxOffset) {
      return input_error("has an offset beyond 14:00, the farthest that there is");
    }
    offset.seconds = static_cast<int32_t>(minus ? -seconds : seconds);
  }
  if (at.peek() == '@') return input_error("has an offset and a zone; it has one of them");
  if (!at.done()) return input_error("goes on where it should end");
  return offset;
}

struct Clock {
  Time time;
  bool is_next_midnight = false;  // 24:00:00
};

Result<Clock> parse_clock(std::string_view text) {
  Cursor at(text);
  int64_t hour = 0, minute = 0, second = 0;
  const bool whole = at.take_digits(2, 2, hour) && at.take(':') && at.take_digits(2, 2, minute) &&
                     at.take(':') && at.take_digits(2, 2, second);
  if (!whole) return input_error("is not written like 10:15:30");
  Clock clock;
  if (at.take('.') && !take_fraction(at, clock.time.nanos)) {
    return input_error("has a fraction of a second that is not one to nine digits");
  }
  clock.is_next_midnight = hour == 24 && minute == 0 && second == 0 && clock.time.nanos == 0;
  if (clock.is_next_midnight) hour = 0;
  if (hour > 23) return input_error("has no hour " + std::to_string(hour));
  if (minute > 59) return input_error("has no minute " + std::to_string(minute));
  if (second > 59) return input_error("has no second " + std::to_string(second));
  clock.time.second = static_cast<int32_t>(hour * 3600 + minute * 60 + second);
  auto offset = parse_offset(at);
  if (!offset) return offset.error();
  clock.time.offset = *offset;
  return clock;
}

Nanos in_utc(Nanos local, const Offset& offset) {
  return local - (offset.is_known() ? Nanos{offset.seconds} * kSecondNanos : Nanos{0});
}

int sign_of(Nanos value) { return value < 0 ? -1 : value > 0 ? 1 : 0; }

}  // namespace

Result<Date> Date::parse(std::string_view text) {
  Cursor at(text);
  const bool minus = at.take('-');
  const std::string_view digits = at.rest();
  int64_t year = 0, month = 0, day = 0;
  const bool whole = at.take_digits(4, 9, year) && at.take('-') && at.take_digits(2, 2, month) &&
                     at.take('-') && at.take_digits(2, 2, day) && at.done();
  if (!whole) return input_error("is not written like 2026-11-02");
  if (digits[0] == '0' && digits[4] != '-') {
    return input_error("has a zero in front of a year of more than four digits");
  }
  if (month < 1 || month > 12) return input_error("has no month " + std::to_string(month));
  if (day < 1 || day > base::days_in_month(minus ? -year : year, month)) {
    return input_error("has no day " + std::to_string(day) + " in that month");
  }
  return Date{static_cast<int32_t>(minus ? -year : year), static_cast<uint8_t>(month),
              static_cast<uint8_t>(day)};
}

std::optional<Date> Date::from_days(int64_t days) {
  constexpr int64_t kFarDays =
      400'000'000'000;  // 1,095,000,000 years: the reckoning does not overflow
  if (days < -kFarDays || days > kFarDays) return std::nullopt;
  const base::Civil civil = base::civil_from_days(days);
  if (civil.year < -kMaxYear || civil.year > kMaxYear) return std::nullopt;
  return Date{static_cast<int32_t>(civil.year), static_cast<uint8_t>(civil.month),
              static_cast<uint8_t>(civil.day)};
}

int64_t Date::days() const { return base::days_from_civil(year, month, day); }

std::optional<Date> Date::plus_months(int64_t months) const {
  const int64_t count = int64_t{year} * 12 + (month - 1) + months;
  const int64_t new_year = count / 12 - (count % 12 < 0 ? 1 : 0);
  const int64_t new_month = count - new_year * 12 + 1;
  if (new_year < -kMaxYear || new_year > kMaxYear) return std::nullopt;
  const int64_t last = base::days_in_month(new_year, new_month);
  return Date{static_cast<int32_t>(new_year), static_cast<uint8_t>(new_month),
              static_cast<uint8_t>(std::min<int64_t>(day, last))};
}

std::string Date::text() const {
  std::string out;
  if (year < 0) out += '-';
  append_padded(out, year < 0 ? -int64_t{year} : year, 4);
  out += '-';
  append_padded(out, month, 2);
  out += '-';
  append_padded(out, day, 2);
  return out;
}

void Offset::append_to(std::string& out) const {
  if (zone != nullptr) {
    out += '@';
    out += zone->name();
  } else if (seconds == 0) {
    out += 'Z';
  } else if (is_known()) {
    out += seconds < 0 ? '-' : '+';
    append_clock(out, seconds < 0 ? -seconds : seconds);
  }
}

Result<Time> Time::parse(std::string_view text) {
  auto clock = parse_clock(text);
  if (!clock) return clock.error();
  return clock->time;
}

Time Time::from_nanos(Nanos since_midnight, const Offset& offset) {
  const Nanos of_day = since_midnight - floor_divide(since_midnight, kDayNanos) * kDayNanos;
  return {static_cast<int32_t>(of_day / kSecondNanos), static_cast<int32_t>(of_day % kSecondNanos),
          offset};
}

std::optional<Nanos> Time::difference(const Time& a, const Time& b) {
  if (a.offset.is_given() != b.offset.is_given()) return std::nullopt;
  if (a.offset.is_known() != b.offset.is_known() || a.offset.zone != b.offset.zone) {
    return std::nullopt;
  }
  return in_utc(a.since_midnight(), a.offset) - in_utc(b.since_midnight(), b.offset);
}

std::string Time::text() const {
  std::string out;
  append_clock(out, second);
  out += ':';
  append_padded(out, second % 60, 2);
  if (nanos != 0) {
    out += '.';
    append_padded(out, nanos, 9);
    while (out.back() == '0') out.pop_back();
  }
  offset.append_to(out);
  return out;
}

Result<DateTime> DateTime::parse(std::string_view text) {
  const size_t mark = text.find('T');
  auto date = Date::parse(text.substr(0, mark));
  if (!date) {
    const bool form = date.error().text.find("written") != std::string::npos;
    return form ? input_error("is not written like 2026-11-02T10:15:30") : date.error();
  }
  if (mark == std::string_view::npos) return DateTime{*date, {}};
  auto clock = parse_clock(text.substr(mark + 1));
  if (!clock) return clock.error();
  const Nanos days = Nanos{date->days()} + (clock->is_next_midnight ? 1 : 0);
  auto found = from_local(days * kDayNanos + clock->time.since_midnight(), clock->time.offset);
  if (!found) return input_error("is outside the years -999999999 to 999999999");
  return *found;
}

std::optional<DateTime> DateTime::from_local(Nanos since_epoch, const Offset& offset) {
  const auto date = Date::from_days(static_cast<int64_t>(floor_divide(since_epoch, kDayNanos)));
  if (!date) return std::nullopt;
  DateTime found{*date, Time::from_nanos(since_epoch, offset)};
  if (offset.zone != nullptr) {
    found.time.offset.seconds = zone_offset_at_local(*offset.zone, since_epoch);
  }
  return found;
}

std::optional<DateTime> DateTime::from_instant(Nanos since_epoch, const Offset& offset) {
  Offset there = offset;
  if (offset.zone != nullptr) there.seconds = zone_offset_at(*offset.zone, since_epoch);
  const Nanos local =
      since_epoch + (there.is_known() ? Nanos{there.seconds} * kSecondNanos : Nanos{0});
  const auto date = Date::from_days(static_cast<int64_t>(floor_divide(local, kDayNanos)));
  if (!date) return std::nullopt;
  return DateTime{*date, Time::from_nanos(local, there)};
}

std::optional<Nanos> DateTime::difference(const DateTime& a, const DateTime& b) {
  if (a.time.offset.is_given() != b.time.offset.is_given()) return std::nullopt;
  return in_utc(a.local(), a.time.offset) - in_utc(b.local(), b.time.offset);
}

std::string DateTime::text() const { return date.text() + 'T' + time.text(); }

std::optional<int> compare(const Time& a, const Time& b) {
  const Nanos local_a = a.since_midnight(), local_b = b.since_midnight();
  if (!a.offset.is_given() || !b.offset.is_given()) return sign_of(local_a - local_b);
  if (a.offset.zone != nullptr || b.offset.zone != nullptr) {
    if (a.offset.zone != b.offset.zone) return std::nullopt;
    return sign_of(local_a - local_b);
  }
  return sign_of(in_utc(local_a, a.offset) - in_utc(local_b, b.offset));
}

int compare(const DateTime& a, const DateTime& b) {
  const Nanos local_a = a.local(), local_b = b.local();
  if (!a.time.offset.is_given() || !b.time.offset.is_given()) return sign_of(local_a - local_b);
  return sign_of(in_utc(local_a, a.time.offset) - in_utc(local_b, b.time.offset));
}

}  // namespace girdle::policy
