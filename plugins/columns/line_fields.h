// The values of one line's fields.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "columns/layout.h"
#include "columns/ruler.h"
#include "columns/widths.h"

namespace girdle::columns {

// How positions become values, beside the layout.
struct Measure {
  bool bytes = false;     // positions are bytes of the document, else characters
  bool trim = true;       // no spaces at either end of a value
  bool pad = false;       // what a line is too short for counts as spaces
  uint64_t tab_stop = 0;  // 0: nobody knows how wide a tab is
};

class LineFields {
 public:
  explicit LineFields(const Measure& measure) : measure_(measure) {}

  // Reads a line of this kind; `bytes` says how many bytes of the document each character had.
  // Returns what is wrong with it, for a shop's administrator; else nothing, and values() has one
  // value for each name of the kind, lent from `text` or from this until the next call.
  std::optional<std::string> read(std::string_view text, const Widths& bytes, const LineKind& kind);
  const std::vector<std::string_view>& values() const { return values_; }

 private:
  std::optional<std::string> cut(std::string_view text, const Widths& widths, const LineKind& kind);
  std::string_view value(std::string_view text) const;

  const Measure measure_;
  WithoutTabs without_tabs_;
  std::vector<std::string_view> values_;
};

}  // namespace girdle::columns
