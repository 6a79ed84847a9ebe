// The formats of a workbook's cells, as far as they tell dates from numbers (ECMA-376, part
// 1, 18.8).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "sheet/number_format.h"
#include "sheet/part_elements.h"

namespace girdle::sheet {

class Styles {
 public:
  // Why they cannot be read; empty where they were.
  std::string read(const Package& package, const std::string& part, const PartLimits& limits);

  // Of a cell with this style number; nothing where there is no such style, or its format is none.
  // A workbook without styles has numbers only.
  std::optional<NumberKind> kind(uint64_t style) const;

 private:
  bool known_ = false;
  std::vector<std::optional<NumberKind>> kinds_;
};

}  // namespace girdle::sheet
