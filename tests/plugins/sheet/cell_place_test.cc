// ECMA-376, part 1, 18.18.62 (ST_Ref); how far a sheet goes: common practice.
#include "sheet/cell_place.h"

#include <gtest/gtest.h>

namespace girdle::sheet {
namespace {

TEST(CellPlace, IsAColumnInLettersAndARow) {
  const struct {
    const char* text;
    uint32_t column;
    uint64_t row;
  } places[] = {{"A1", 0, 1},   {"Z9", 25, 9},   {"AA10", 26, 10}, {"AZ1", 51, 1},
                {"BA1", 52, 1}, {"ZZ1", 701, 1}, {"AAA1", 702, 1}, {"XFD1048576", 16383, 1048576}};
  for (const auto& one : places) {
    const auto place = cell_place(one.text);
    ASSERT_TRUE(place) << one.text;
    EXPECT_EQ(place->column, one.column) << one.text;
    EXPECT_EQ(place->row, one.row) << one.text;
    EXPECT_EQ(column_letters(one.column) + std::to_string(one.row), one.text);
  }
}

TEST(CellPlace, IsNothingElse) {
  for (const char* text : {"", "A", "1", "A0", "a1", "A1B", "$A$1", "A-1", "A1048577", "XFE1",
                           "AAAA1", "A1 ", "A99999999999999999999", "R1C1"})
    EXPECT_FALSE(cell_place(text)) << text;
}

}  // namespace
}  // namespace girdle::sheet
