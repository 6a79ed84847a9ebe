// What a person asks for by text: the whole of one, or in R10* its beginning. As a range of texts, both ends in it.
#pragma once

#include <string>

namespace girdle::ledger {

struct Pattern {
  std::string from, to;
};

inline Pattern pattern_of(const std::string& text) {
  if (!text.ends_with('*')) return {text, text};
  std::string from = text.substr(0, text.size() - 1);
  std::string to = from + "\xF4\x8F\xBF\xBF";  // the last character that there is
  return {std::move(from), std::move(to)};
}

}  // namespace girdle::ledger
