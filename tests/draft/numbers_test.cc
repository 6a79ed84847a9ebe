#include "draft/numbers.h"

#include <gmock/gmock.h>

namespace girdle::draft {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

NumberLook look(const std::vector<std::string_view>& texts) { return look_at_numbers(texts); }

TEST(Numbers, HaveThePointOrTheCommaForADecimalMark) {
  EXPECT_THAT(look({"0.53", "12.4"}).marks, ElementsAre(Marks{'.', '\0'}));
  EXPECT_THAT(look({"0,53", "12,4"}).marks, ElementsAre(Marks{',', '\0'}));
}

TEST(Numbers, AreWholeWithoutAnyMark) {
  const NumberLook found = look({"7", "12"});
  EXPECT_TRUE(found.whole);
  EXPECT_FALSE(found.is_ambiguous());
}

// Groups of three digits: ISO 80000-1, 7.3.1, and the marks that are used besides its space.
TEST(Numbers, LeaveOpenWhetherThreeDigitsBehindAMarkAreAGroup) {
  EXPECT_TRUE(look({"1,234"}).is_ambiguous());
  EXPECT_TRUE(look({"1.234", "5.678"}).is_ambiguous());
}

TEST(Numbers, AreNotLeftOpenWhereOneOfThemTells) {
  EXPECT_THAT(look({"1,234", "0,5"}).marks, ElementsAre(Marks{',', '\0'}));
  EXPECT_THAT(look({"0,500"}).marks, ElementsAre(Marks{',', '\0'}));  // no group begins with 0
  EXPECT_THAT(look({"1.234,50"}).marks, ElementsAre(Marks{',', '.'}));
  EXPECT_THAT(look({"1 234.50"}).marks, ElementsAre(Marks{'.', ' '}));
}

TEST(Numbers, AreNoneWhereOneTextIsNone) {
  EXPECT_THAT(look({"0.53", "-"}).marks, IsEmpty());
  EXPECT_THAT(look({"21.5 C"}).marks, IsEmpty());
  EXPECT_THAT(look({"", ""}).marks, IsEmpty());
}

TEST(Numbers, TellTheirBoundsAsTheyAreWritten) {
  const NumberLook found = look({"0,71", "", "0,53", "12,40"});
  EXPECT_EQ(found.least_text, "0,53");
  EXPECT_EQ(found.most_text, "12,40");
}

}  // namespace
}  // namespace girdle::draft
