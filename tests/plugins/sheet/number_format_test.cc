// ECMA-376, part 1: built-in formats 18.8.30, format codes 18.8.31.
#include "sheet/number_format.h"

#include <gtest/gtest.h>

#include <utility>

namespace girdle::sheet {
namespace {

using Kind = NumberKind;

// The list of 18.8.30: ids of all languages, then what single languages have.
TEST(NumberFormat, KnowsTheBuiltInOnes) {
  const std::pair<const char*, Kind> codes[] = {{"General", Kind::kNumber},
                                                {"0", Kind::kNumber},
                                                {"0.00", Kind::kNumber},
                                                {"#,##0", Kind::kNumber},
                                                {"0%", Kind::kNumber},
                                                {"0.00E+00", Kind::kNumber},
                                                {"# ?/?", Kind::kNumber},
                                                {"mm-dd-yy", Kind::kDate},
                                                {"d-mmm-yy", Kind::kDate},
                                                {"d-mmm", Kind::kDate},
                                                {"mmm-yy", Kind::kDate},
                                                {"h:mm AM/PM", Kind::kTime},
                                                {"h:mm:ss AM/PM", Kind::kTime},
                                                {"h:mm", Kind::kTime},
                                                {"h:mm:ss", Kind::kTime},
                                                {"m/d/yy h:mm", Kind::kDateTime},
                                                {"#,##0 ;[Red](#,##0)", Kind::kNumber},
                                                {"mm:ss", Kind::kTime},
                                                {"[h]:mm:ss", Kind::kElapsed},
                                                {"mmss.0", Kind::kTime},
                                                {"##0.0E+0", Kind::kNumber},
                                                {"@", Kind::kNumber}};
  const uint64_t ids[] = {0,  1,  2,  3,  9,  11, 12, 14, 15, 16, 17,
                          18, 19, 20, 21, 22, 38, 45, 46, 47, 48, 49};
  for (size_t i = 0; i < std::size(ids); ++i) {
    EXPECT_EQ(number_kind(codes[i].first), codes[i].second) << codes[i].first;
    EXPECT_EQ(built_in_kind(ids[i]), codes[i].second) << ids[i];
  }
}

TEST(NumberFormat, KnowsThoseOfSingleLanguages) {
  const std::pair<const char*, Kind> codes[] = {
      {"[$-404]e/m/d", Kind::kDate},                                                   // 27 zh-tw
      {"[$-411]ggge\"\xE5\xB9\xB4\"m\"\xE6\x9C\x88\"d\"\xE6\x97\xA5\"", Kind::kDate},  // 28 ja-jp
      {"m-d-yy", Kind::kDate},                                                         // 30 zh-cn
      {"yyyy\"\xE5\xB9\xB4\"m\"\xE6\x9C\x88\"", Kind::kDate},                          // 34 ja-jp
      {"h\"\xE6\x99\x82\"mm\"\xE5\x88\x86\"", Kind::kTime},                            // 32 ja-jp
      {"hh\"\xE6\x99\x82\"mm\"\xE5\x88\x86\"ss\"\xE7\xA7\x92\"", Kind::kTime},         // 33 zh-tw
      {"yyyy\"\xEB\x85\x84\" mm\"\xEC\x9B\x94\" dd\"\xEC\x9D\xBC\"", Kind::kDate},     // 31 ko-kr
      {"d/m/bb", Kind::kDate},                                                         // 81 th-th
  };
  for (const auto& [code, kind] : codes) EXPECT_EQ(number_kind(code), kind) << code;
  for (const uint64_t id : {27, 28, 29, 30, 31, 36, 50, 51, 54, 57, 58, 71, 72, 73, 74, 81})
    EXPECT_EQ(built_in_kind(id), Kind::kDate) << id;
  for (const uint64_t id : {32, 33, 75, 76, 78, 80})
    EXPECT_EQ(built_in_kind(id), Kind::kTime) << id;
  // zh-cn has times under these ids, ja-jp and ko-kr have dates; or the other way round.
  for (const uint64_t id : {34, 35, 52, 53, 55, 56})
    EXPECT_EQ(built_in_kind(id), Kind::kDateOrTime) << id;
  EXPECT_EQ(built_in_kind(77), Kind::kDateTime);
  EXPECT_EQ(built_in_kind(79), Kind::kElapsed);
  for (const uint64_t id : {5, 23, 37, 44, 59, 62, 67, 70, 82, 163, 164, 99999})
    EXPECT_EQ(built_in_kind(id), Kind::kNumber) << id;
}

TEST(NumberFormat, TellsMinutesFromMonths) {
  EXPECT_EQ(number_kind("m"), Kind::kDate);
  EXPECT_EQ(number_kind("mmmm"), Kind::kDate);
  EXPECT_EQ(number_kind("hh.mm"), Kind::kTime);
  EXPECT_EQ(number_kind("mm\\:ss.000"), Kind::kTime);
  EXPECT_EQ(number_kind("m/d h:mm"), Kind::kDateTime);
  EXPECT_EQ(number_kind("h m"), Kind::kTime);
  EXPECT_EQ(number_kind("[h]:mm"), Kind::kElapsed);
  EXPECT_EQ(number_kind("[mm]:ss"), Kind::kElapsed);
  EXPECT_EQ(number_kind("[s]"), Kind::kElapsed);
}

TEST(NumberFormat, PassesOverWhatIsOnlyShown) {
  EXPECT_EQ(number_kind("0.00 \"days\""), Kind::kNumber);
  EXPECT_EQ(number_kind("0.00\\d"), Kind::kNumber);
  EXPECT_EQ(number_kind("0_d*s"), Kind::kNumber);
  EXPECT_EQ(number_kind("[Red]0.00"), Kind::kNumber);
  EXPECT_EQ(number_kind("[$\xE2\x82\xAC-407] #,##0.00"), Kind::kNumber);
  EXPECT_EQ(number_kind("[>=100]0;[Blue]-0"), Kind::kNumber);
  EXPECT_EQ(number_kind("0;yyyy"), Kind::kNumber);
  EXPECT_EQ(number_kind("[$-F800]dddd\\,\\ mmmm\\ dd\\,\\ yyyy"), Kind::kDate);
  EXPECT_EQ(number_kind("[$-F400]h:mm:ss\\ AM/PM"), Kind::kTime);
  EXPECT_EQ(number_kind("yyyy\\-mm\\-dd\\Thh:mm;@"), Kind::kDateTime);
  EXPECT_EQ(number_kind("\"\xE4\xB8\x8A\""), Kind::kNumber);
  EXPECT_EQ(number_kind("GENERAL"), Kind::kNumber);
  for (const char* code : {"", "\"", "\\", "[", "_", "*", "[]", "a", "0e-0"})
    EXPECT_EQ(number_kind(code), Kind::kNumber) << code;
}

}  // namespace
}  // namespace girdle::sheet
