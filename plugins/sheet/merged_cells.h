// Cells that are shown as one (ECMA-376, part 1, 18.3.1.55). Only the first of them has a value;
// what the others mean, nobody wrote: the rows in which they lie are not read.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::sheet {

class MergedCells {
 public:
  // An area as it is written, B8:D9. `named`: the columns that matter, in their order. False where
  // that is no area, or there are too many.
  bool add(std::string_view area, const std::vector<uint32_t>& named);
  // No more will be added.
  void sort();

  // The area that has another cell of this row than its first one; nothing where none has. Rows are
  // asked for in their order.
  std::optional<std::string> covers(uint64_t row);

 private:
  static constexpr size_t kMost = 65'536;
  struct Area {
    uint64_t first_row, last_row;
    uint32_t first_column, last_column;
    bool matters;          // in the rows behind its first one
    bool matters_at_once;  // in its first row too
  };
  static std::optional<Area> area_of(std::string_view text);
  static std::string text_of(const Area& area);

  std::vector<Area> areas_;
  size_t next_ = 0;                // the first that begins in the row at hand or behind it
  const Area* longest_ = nullptr;  // of those before it, the one that reaches furthest
};

}  // namespace girdle::sheet
