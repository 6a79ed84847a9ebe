// What the name of a column says: which of our fields it may be, and in which unit.
//
// From memory of how software in several languages names such columns; a name is a hint, and the
// column's texts have to agree with it. Pure; any thread.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace girdle::draft {

struct NameMeaning {
  // Ours, as in a mapping ("stock_number"); or "date" and "time" for the two halves of a time.
  std::string_view field;
  // 3: the whole name is a word for it; 2: its last part is ("/result/code"), or it is one together
  // with a unit; 1: it holds the word.
  int strength = 0;
};

// Ours in the order of their strength; a name may mean several ("no": run or stock number).
std::vector<NameMeaning> meanings_of(std::string_view name);

// The unit that stands in the name, as a mapping writes it ("Weight (mg)", "temp_f", "RH %"); empty
// where there is none for this field.
std::string_view unit_in(std::string_view name, std::string_view field);

// The unit that a text by itself is: "ct" behind a number.
std::string_view unit_named(std::string_view text, std::string_view field);

// The name in small letters, its parts set apart by one space: "StockNo." as "stock no". Letters
// beyond Latin-1, Greek and Cyrillic stay as they are.
std::string plain_name(std::string_view name);

}  // namespace girdle::draft
