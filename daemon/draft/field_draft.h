// One field of a mapping, proposed.
#pragma once

#include <string>
#include <vector>

#include "draft/open_point.h"

namespace girdle::draft {

struct WordDraft {
  std::string theirs;
  std::string ours;      // kFillIn, but where the word is ours already
  std::string evidence;  // how often it came, and where first
};

struct FieldDraft {
  std::string field;
  // One of both. kFillIn where it is open.
  std::vector<std::string> from;
  std::string value;
  std::vector<Setting> keys;  // form, unit, decimal, group
  std::vector<WordDraft> words;
  std::vector<std::string> evidence;  // lines of comment above it
  bool only_offered = false;          // written as a comment, to be taken by a person
};

}  // namespace girdle::draft
