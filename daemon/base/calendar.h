// The proleptic Gregorian calendar: days since 1970-01-01 and dates. Integer arithmetic over eras
// of 400 years, with years that begin in March so that the leap day comes last.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

namespace girdle::base {

inline constexpr int64_t kDayMillis = 86'400'000;

// What four digits of a year can say: from 0000-01-01T00:00:00.000Z to 9999-12-31T23:59:59.999Z. No
// instant outside is ever read, so that texts of instants sort as the instants do.
inline constexpr int64_t kFirstMillis = -62'167'219'200'000;
inline constexpr int64_t kLastMillis = 253'402'300'799'999;

constexpr int64_t days_from_civil(int64_t year, int64_t month, int64_t day) {
  year -= month <= 2;
  const int64_t era = (year >= 0 ? year : year - 399) / 400;
  const int64_t year_of_era = year - era * 400;
  const int64_t day_of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;
  const int64_t leap_days = year_of_era / 4 - year_of_era / 100;
  return era * 146'097 + year_of_era * 365 + leap_days + day_of_year - 719'468;
}

struct Civil {
  int64_t year, month, day;
};

constexpr Civil civil_from_days(int64_t days) {
  days += 719'468;
  const int64_t era = (days >= 0 ? days : days - 146'096) / 146'097;
  const int64_t day_of_era = days - era * 146'097;
  const int64_t year_of_era =
      (day_of_era - day_of_era / 1'460 + day_of_era / 36'524 - day_of_era / 146'096) / 365;
  const int64_t day_of_year =
      day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
  const int64_t month_index = (5 * day_of_year + 2) / 153;
  const int64_t month = month_index < 10 ? month_index + 3 : month_index - 9;
  return {year_of_era + era * 400 + (month <= 2), month,
          day_of_year - (153 * month_index + 2) / 5 + 1};
}

constexpr bool is_leap(int64_t year) {
  return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

// `month` from 1 to 12.
constexpr int64_t days_in_month(int64_t year, int64_t month) {
  constexpr std::array<int64_t, 12> kDays = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  return month == 2 && is_leap(year) ? 29 : kDays[static_cast<size_t>(month - 1)];
}

}  // namespace girdle::base
