#include "sheet/serial_time.h"

#include <algorithm>
#include <chrono>
#include <cmath>

namespace girdle::sheet {

namespace {

using std::chrono::days;
using std::chrono::sys_days;
using namespace std::chrono_literals;

constexpr double kMillisOfDay = 86'400'000;
constexpr int64_t kNoSuchDay = 60;         // k1900
constexpr double kMostSerial = 2'958'466;  // after 31 December 9999, counted from 1900
constexpr sys_days kLastDay{9999y / 12 / 31};

struct Split {
  int64_t day;
  int64_t millis;  // of the day
};

Split split(double serial) {
  const double whole = std::floor(serial);
  const Split parts{static_cast<int64_t>(whole), std::llround((serial - whole) * kMillisOfDay)};
  if (parts.millis < static_cast<int64_t>(kMillisOfDay)) return parts;
  return {parts.day + 1, 0};
}

void append_number(int64_t number, size_t digits, std::string& out) {
  const std::string text = std::to_string(number);
  out.append(digits - std::min(digits, text.size()), '0').append(text);
}

std::string time_text(int64_t millis) {
  const int64_t seconds = millis / 1000;
  std::string text;
  append_number(seconds / 3600, 2, text);
  append_number(seconds / 60 % 60, 2, text += ':');
  append_number(seconds % 60, 2, text += ':');
  if (millis % 1000 != 0) append_number(millis % 1000, 3, text += '.');
  return text;
}

// The day, or a fault in `fault`.
sys_days date_of(int64_t day, DateBase base, std::string& fault) {
  sys_days date{};
  switch (base) {
    case DateBase::k1900:
      if (day < 1) fault = "a date before 1 January 1900";
      if (day == kNoSuchDay) fault = "29 February 1900, a day that never was";
      date = day < kNoSuchDay ? sys_days{1899y / 12 / 31} + days{day}
                              : sys_days{1899y / 12 / 30} + days{day};
      break;
    case DateBase::k1900WithoutGap:
      date = sys_days{1899y / 12 / 30} + days{day};
      break;
    case DateBase::k1904:
      date = sys_days{1904y / 1 / 1} + days{day};
      break;
  }
  if (date > kLastDay) fault = "a date after the year 9999";
  return date;
}

std::string date_text(sys_days date) {
  const std::chrono::year_month_day parts(date);
  std::string text;
  append_number(static_cast<int>(parts.year()), 4, text);
  append_number(static_cast<unsigned>(parts.month()), 2, text += '-');
  append_number(static_cast<unsigned>(parts.day()), 2, text += '-');
  return text;
}

// Without its date, or without its time, where neither is there nor asked for.
NumberKind told_as(NumberKind kind, const Split& parts) {
  switch (kind) {
    case NumberKind::kTime:
      return parts.day == 0 ? NumberKind::kTime : NumberKind::kDateTime;
    case NumberKind::kDate:
      return parts.millis == 0 ? NumberKind::kDate : NumberKind::kDateTime;
    case NumberKind::kDateOrTime:
      if (parts.day == 0) return NumberKind::kTime;
      return parts.millis == 0 ? NumberKind::kDate : NumberKind::kDateTime;
    case NumberKind::kNumber:
    case NumberKind::kDateTime:
    case NumberKind::kElapsed:
      return kind;
  }
  return kind;
}

}  // namespace

SerialText serial_text(double serial, NumberKind kind, DateBase base) {
  if (!(serial >= 0)) return {{}, "a date or time below 0"};
  if (serial >= kMostSerial) return {{}, "a date after the year 9999"};
  const Split parts = split(serial);
  const NumberKind told = told_as(kind, parts);
  if (kind == NumberKind::kElapsed)
    return {time_text(parts.day * static_cast<int64_t>(kMillisOfDay) + parts.millis), {}};
  if (told == NumberKind::kTime) return {time_text(parts.millis), {}};
  SerialText made;
  const sys_days date = date_of(parts.day, base, made.fault);
  if (made.fault.empty()) made.text = date_text(date);
  if (made.fault.empty() && told == NumberKind::kDateTime)
    made.text += "T" + time_text(parts.millis);
  return made;
}

}  // namespace girdle::sheet
