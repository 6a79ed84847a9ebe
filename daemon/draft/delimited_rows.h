// By which character the fields of a text's rows may be set apart.
//
// Pure; any thread.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "draft/rows.h"

namespace girdle::draft {

struct RowShape {
  Dialect dialect;
  size_t width = 0;                    // fields of most rows
  std::vector<std::vector<Row>> rows;  // of each text, from the first that is as wide as most on
  size_t titles = 0;                   // rows before these
  size_t fitting = 0, others = 0;      // rows
  double score = 0;                    // 0 to 1
};

// The likely dialects, best first. At least one, which has a single column where nothing sets
// fields apart.
// `said`: the delimiter, where a person said it; else '\0'.
std::vector<RowShape> row_shapes(const std::vector<std::string>& texts, char said = '\0');

}  // namespace girdle::draft
