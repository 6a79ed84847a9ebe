// Texts that count as the same: without the case of letters, or without the kind and number of
// spaces.
#pragma once

#include <string>
#include <string_view>

namespace girdle::base {

struct Folding {
  // Letters of the blocks U+0000 to U+058F, U+1E00 to U+1EFF and U+FF21 to U+FF3A (Latin, Greek,
  // Cyrillic, Armenian) become what CaseFolding.txt of Unicode 14 folds them to with its statuses C
  // and S: one letter for one. So "ß" is not "ss", and a Turkish "İ" is no "i". Other letters stay.
  bool letter_case = false;
  // A run of white space, as Unicode has it (a no-break space too), becomes one space, and none at
  // either end.
  bool space = false;
};

// Appends the folded text. UTF-8; bytes that are none stay as they are.
void fold(std::string_view text, Folding folding, std::string& out);

}  // namespace girdle::base
