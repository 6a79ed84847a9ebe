// From one raw text to one value of a field.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "base/decimal.h"

namespace girdle::reading {

// What a decimal field may hold, in our unit.
enum class Range : uint8_t {
  kAny,
  kPositive,
  kNotNegative,
  kCount,     // a whole number from 1 on
  kFraction,  // 0 to 1
  kPercent,   // 0 to 100
  kCelsius,   // not under absolute zero
};

// Exact, but for Fahrenheit: (F - 32) × 5/9 is rounded to four places, half to even.
enum class Unit : uint8_t {
  kOurs,
  kGram,        // 5 ct: the metric carat is 0.2 g
  kMilligram,   // 0.005 ct
  kMicrometre,  // 0.001 mm
  kInch,        // 25.4 mm
  kFahrenheit,
  kPercentOfOne,   // 0.01
  kOneOfAPercent,  // 100
};

// `unit` as a mapping writes it (empty: ours), for a field of ours. Nothing where the field has no
// such unit.
std::optional<Unit> unit_of(std::string_view field, std::string_view unit);

struct NumberForm {
  char decimal_mark = '.';
  char group_mark = '\0';  // '\0': none; groups are of three digits, from the decimal mark on
  Unit unit = Unit::kOurs;
  Range range = Range::kAny;
};

// False, with the reason (`holds "1,25", which …`), when the text is not a number in this form.
bool read_decimal(std::string_view text, const NumberForm& form, std::optional<base::Decimal>& out,
                  std::string& reason);

// Without white space (space, tab, CR, LF) at either end.
std::string_view trim_outer_space(std::string_view text);
inline std::string_view without_outer_space(std::string_view text) {
  const bool plain = !text.empty() && text.front() > ' ' && text.back() > ' ';
  return plain ? text : trim_outer_space(text);
}

// False, with the reason, for a key of over 200 bytes, with control characters, or that is not
// UTF-8.
bool check_key(std::string_view text, std::string& reason);
// False, with the reason, for a text of over 4000 bytes, with control characters but tabs and line
// ends, or that is not UTF-8.
bool check_note(std::string_view text, std::string& reason);

}  // namespace girdle::reading
