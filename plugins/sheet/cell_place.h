// Where a cell stands: A1, AB12 (ECMA-376, part 1, 18.18.62).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace girdle::sheet {

// What a sheet has at most, by common practice: columns A to XFD.
inline constexpr uint32_t kMostColumns = 16'384;
inline constexpr uint64_t kMostRows = 1'048'576;

struct CellPlace {
  uint32_t column = 0;  // A is 0
  uint64_t row = 0;     // from 1
};

// Nothing where the text is no place in a sheet.
std::optional<CellPlace> cell_place(std::string_view text);

// A row's number, 1 to kMostRows; nothing where the text is none.
std::optional<uint64_t> row_number(std::string_view text);

// A, B, …, Z, AA, …
std::string column_letters(uint32_t column);

}  // namespace girdle::sheet
