// Positions in a line, counted from 1: each character takes as many as its width.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "columns/widths.h"

namespace girdle::columns {

// A line with spaces for its tabs: a tab goes on to the position after the next multiple of the
// stop.
class WithoutTabs {
 public:
  // Valid until the next call.
  void make(std::string_view text, const Widths& widths, uint64_t stop);
  std::string_view text() const { return text_; }
  Widths widths() const;

 private:
  std::string text_;
  std::string listed_;
  bool all_one_ = true;
};

// Finds positions in one line. They are asked for in ascending order.
class Ruler {
 public:
  // `text` is well-formed UTF-8; it and the widths live longer than this.
  Ruler(std::string_view text, const Widths& widths);

  enum class Found {
    kThere,   // a character begins there, or the line ends right before it
    kBeyond,  // the line ends at an earlier position
    kInside,  // in the middle of a character
  };
  struct Mark {
    Found found;
    size_t index;  // in the text: where the position begins; the text's size beyond it
  };
  Mark at(uint64_t position);

  // How many positions the line has. Asked last.
  uint64_t size();

 private:
  void step();

  const std::string_view text_;
  const Widths widths_;
  const bool plain_;  // each byte is one position
  size_t index_ = 0;
  uint64_t position_ = 1;  // of text_[index_]
};

}  // namespace girdle::columns
