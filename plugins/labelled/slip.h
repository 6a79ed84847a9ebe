// The fields of the slip at hand, until it has ended.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_set>
#include <vector>

#include "girdle/reader.h"
#include "labelled/fold.h"

namespace girdle::labelled {

class Slip {
 public:
  Slip(const Fold& fold, uint64_t max_fields) : fold_(fold), max_fields_(max_fields) {}

  void clear();
  // Returns what is wrong, for a shop's administrator; nothing where the field was taken.
  std::optional<std::string> add(std::string_view label, std::string_view value);
  // More of the last field's value, on a line of its own. Only after an add.
  void go_on(std::string_view value);

  size_t size() const { return values_.size(); }
  // Names and values; lent until the next change.
  const std::vector<girdle_text>& names();
  const std::vector<girdle_text>& values();
  // A number that stays the same as long as the names do, from one slip to the next.
  uint32_t layout();

 private:
  const Fold fold_;
  const uint64_t max_fields_;
  std::vector<std::string> names_;
  std::vector<std::string> values_;
  std::unordered_set<std::string> known_;
  std::vector<girdle_text> lent_names_;
  std::vector<girdle_text> lent_values_;
  std::vector<std::string> last_names_;  // of layout_
  uint32_t layout_ = 0;
};

}  // namespace girdle::labelled
