// ECMA-376, part 1, 18.3.1.55. That covered cells are not read is our own rule: common practice, no
// source.
#include "sheet/merged_cells.h"

#include <gtest/gtest.h>

namespace girdle::sheet {
namespace {

TEST(MergedCells, CoverAllButTheirFirst) {
  MergedCells merged;
  const std::vector<uint32_t> named = {1, 2};  // B and C
  for (const char* area : {"B8:B9", "C4:D4", "B5:C5", "A20:A30", "D1:F9", "A11:D12", "B15"})
    EXPECT_TRUE(merged.add(area, named)) << area;
  merged.sort();
  const std::pair<uint64_t, const char*> rows[] = {
      {3, ""},  {4, ""},         {5, "B5:C5"},    {6, ""},  {8, ""}, {9, "B8:B9"},
      {10, ""}, {11, "A11:D12"}, {12, "A11:D12"}, {15, ""}, {25, ""}};
  for (const auto& [row, area] : rows) EXPECT_EQ(merged.covers(row).value_or(""), area) << row;
}

TEST(MergedCells, MayLieInEachOther) {
  MergedCells merged;
  for (const char* area : {"A5:A6", "A1:A9"}) EXPECT_TRUE(merged.add(area, {0}));
  merged.sort();
  for (const uint64_t row : {2, 5, 7, 9}) EXPECT_TRUE(merged.covers(row)) << row;
  EXPECT_FALSE(merged.covers(10));
}

TEST(MergedCells, AreRefusedWhereTheyAreNone) {
  MergedCells merged;
  for (const char* area : {"", "A", "A1:", "B1:A2", "A2:A1", "A1:B2:C3", "a1:b2"})
    EXPECT_FALSE(merged.add(area, {0})) << area;
}

}  // namespace
}  // namespace girdle::sheet
