// Labels that are printed now one way, now another.
#pragma once

#include <string>
#include <string_view>

namespace girdle::labelled {

struct Fold {
  bool letters = false;
  bool space = false;
};

// `label` in small letters (Latin without and with the accents of Latin-1, Greek, Cyrillic; others
// stay), or with one space for each run of spaces and tabs. UTF-8.
void append_folded(std::string_view label, const Fold& fold, std::string& out);

}  // namespace girdle::labelled
