// By which forms the texts of a column are times.
//
// Every form that is named reads every text, with the form reader that a mapping uses. Where
// several do and the instants differ, only a person can say which it is (02.11. or 11.02.).
//
// Pure; any thread.
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/clock.h"

namespace girdle::draft {

struct TimeReading {
  std::string form;           // as a mapping writes it
  bool local = false;         // it gives no offset from UTC: a zone has to be known
  size_t steps_back = 0;      // how often a time lies before the one of the record before
  base::Instant first, last;  // the least and the greatest; local times as if they were UTC
};

// What is known of the column besides its texts.
enum class Digits {
  kMayBeTime,    // its name says so: digits alone, such as 20261102 or 1793610930, are taken too
  kAreOneNumber  // digits alone are a number
};

// Forms of whole times and of dates, those with the fewest steps back first; none where one of the
// texts is no time. Empty texts say nothing. Years from 1985 to 2069 alone count.
std::vector<TimeReading> time_forms(std::span<const std::string_view> texts, Digits digits);

// Of a form that time_forms() gave.
bool has_time_of_day(std::string_view form);

// Forms of times of day alone ("10:15:30", as "%H:%M:%S").
std::vector<std::string> clock_forms(std::span<const std::string_view> texts, Digits digits);

// Those of these forms that read every text, the same way as time_forms().
std::vector<TimeReading> fitting_forms(std::span<const std::string> forms,
                                       std::span<const std::string_view> texts);

// "2026-11-02T10:15:30": without the offset that a local time does not have.
std::string shown(const TimeReading& reading, base::Instant instant);

}  // namespace girdle::draft
