// The raw records of a trial, turned into columns, and what can be seen of each.
//
// Pure; any thread. Views are into the records.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "draft/column_names.h"
#include "draft/numbers.h"
#include "draft/times.h"

namespace girdle::draft {

struct RawRecord {
  std::vector<std::pair<std::string, std::string>> fields;  // name, text
  uint64_t line = 0;  // of its first byte in its sample; 0 = not known
  size_t sample = 0;  // in which one
};

struct DistinctText {
  std::string_view text;  // without white space at either end
  size_t count = 0;
  size_t first = 0;  // the record in which it stands first
};

struct Column {
  std::string name;
  std::vector<NameMeaning> meanings;
  std::vector<std::string_view> texts;  // one a record; empty where the record lacks the field
  size_t missing = 0;                   // records without the field
  size_t empty = 0;                     // records with the field, and nothing in it
  std::vector<DistinctText> distinct;   // not the empty one; in the order in which they come
  size_t distinct_count = 0;            // all of them; `distinct` ends at kMostDistinct
  bool has_control = false;             // a text that no key of ours may have

  NumberLook numbers;     // without the unit
  std::string_view unit;  // that stands behind each number; empty: none does
  std::vector<TimeReading> times;
  std::vector<std::string> clocks;  // forms of a time of day alone
  bool are_whole = false;           // whole numbers without sign
  bool rises = false;               // whole numbers, each above the one before, in each sample
  bool rises_by_one = false;
  std::string pattern;  // that all texts have: "A9999"; empty where they have none in common

  static constexpr size_t kMostDistinct = 200;

  size_t filled() const { return texts.size() - missing - empty; }
  // How strongly the name says that it is this field; 0: not at all.
  int meaning(std::string_view field) const;
};

// In the order in which the fields come first. Of records with very many fields only so many of
// both are looked at that memory stays bounded (kMostColumns, kMostTexts).
inline constexpr size_t kMostColumns = 1'000;
inline constexpr size_t kMostTexts = 8'000'000;
std::vector<Column> columns_of(const std::vector<RawRecord>& records);

// Capitals as A, small letters as a, digits as 9, other characters as themselves.
std::string pattern_of(std::string_view text);
// With each run of digits, and of small letters, as one: their lengths may differ.
std::string short_pattern_of(std::string_view text);

}  // namespace girdle::draft
