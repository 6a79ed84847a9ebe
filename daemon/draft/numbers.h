// What the numbers of a column look like: their decimal mark, their groups, their bounds.
//
// Asks the reading's own number reader with each pair of marks, so that what is found is what a
// mapping will read. Pure; any thread.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "base/decimal.h"

namespace girdle::draft {

struct Marks {
  char decimal = '.';
  char group = '\0';  // none
  bool operator==(const Marks&) const = default;
};

struct NumberLook {
  // The pairs of marks by which all texts are numbers, those with other values each: none where the
  // texts are no numbers, several where these marks cannot be told apart ("1,234").
  std::vector<Marks> marks;
  bool whole = false;  // no text has a mark: both decimal marks would do
  // With the first of the marks.
  base::Decimal least, most;
  std::string_view least_text, most_text;

  bool are_numbers() const { return !marks.empty(); }
  bool is_ambiguous() const { return marks.size() > 1; }
};

// Empty texts say nothing.
NumberLook look_at_numbers(std::span<const std::string_view> texts);

// What stands behind each number, the same behind all of them: "C" of "21.5 C". Empty where nothing
// does, or texts have none.
std::string_view common_unit(std::span<const std::string_view> texts);
// The text up to there, without blanks.
std::string_view without_unit(std::string_view text, std::string_view unit);

// The digits of a whole number without sign, marks and spaces, up to 18.
std::optional<int64_t> whole_number(std::string_view text);

}  // namespace girdle::draft
