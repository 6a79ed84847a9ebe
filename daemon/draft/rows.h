// Text as rows of cells set apart by a character.
//
// Pure; any thread.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::draft {

struct Dialect {
  char delimiter = ',';
  char quote = '"';     // '\0': none
  char escape = '\0';   // none
  char comment = '\0';  // none; else it begins lines that are passed over
};

struct Row {
  std::vector<std::string> cells;
  size_t line = 0;          // on which it begins, from 1
  std::string_view source;  // its first line
  bool is_broken = false;   // a quote where none belongs, or one that stays open
};

// From line `first_line` (1 for the first) on. Blank lines are no rows.
std::vector<Row> rows_of(std::string_view text, const Dialect& dialect, size_t first_line = 1);

// A first line "sep=;" says the delimiter; '\0' where there is none.
char said_delimiter(std::string_view text);

// Digits with marks between them: a number, a date or a time in whichever form.
bool is_figure(std::string_view cell);

}  // namespace girdle::draft
