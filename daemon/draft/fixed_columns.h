// Text as lines with fields at fixed positions: where every line has blanks, a field ends.
//
// Pure; any thread.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::draft {

struct FixedField {
  std::string name;         // empty where no line names it
  size_t from = 1, to = 1;  // from 1 on, both included
  bool is_open = false;     // to the end of the line
};

struct FixedShape {
  std::vector<FixedField> fields;
  std::vector<std::string> ignore;  // how lines begin that are no results
  size_t header_line = 0;           // 0: none
  size_t rows = 0;
  size_t short_rows = 0;     // that end before their last field does
  bool same_length = false;  // all rows
  size_t narrowest_gap = 0;  // blanks between two fields
};

// `count_bytes`: positions are bytes, as the text's encoding is not known. Nothing where no
// position is blank in all lines.
std::optional<FixedShape> fixed_shape(const std::vector<std::string>& texts, bool count_bytes);

}  // namespace girdle::draft
