// Rows of the DMN TCK (github.com/dmn-tck/tck at 0dbcaf9) 0075, 0099, 0100, 0105 and 0008-LX, by
// id; DMN 1.5 clause 9.4 and Tables 57, 59 and 60.
#include "policy/expression.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "policy/values.h"

namespace girdle::policy {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

std::string calculated(std::string_view text, std::vector<Value> facts = {}) {
  const auto expression = Expression::parse(text);
  if (!expression) return "error: " + expression.error().text;
  const auto value = expression->evaluate(facts);
  return value ? plain_text(*value) : "error: " + value.error().text;
}

// 0105-feel-math 001 to 033.
TEST(Expression, CalculatesWithNumbers) {
  EXPECT_EQ(calculated("10+5"), "15");
  EXPECT_EQ(calculated("-10+-5"), "-15");
  EXPECT_EQ(calculated("-10--5"), "-5");
  EXPECT_EQ(calculated("(10+20)-(-5+3)"), "32");
  EXPECT_EQ(calculated("(10+20)/(-5*3)"), "-2");
  EXPECT_EQ(calculated("10**-5"), "0.00001");
  EXPECT_EQ(calculated("5+2**5+3"), "40");
  EXPECT_EQ(calculated("5+2**(5+3)"), "261");
  EXPECT_EQ(calculated("10 + 20 / -5 - 3"), "3");
  EXPECT_EQ(calculated("10 + 20 / (-5 - 3)"), "7.5");
  EXPECT_EQ(calculated("1.2*10**3"), "1200");
}

// 0075-feel-exponent decision_001, _001_a; 0099-arithmetic-negation decision_002 to _004_a.
TEST(Expression, BindsASignClosestAndGoesOnFromTheLeft) {
  EXPECT_EQ(calculated("3 ** 4 ** 5"), "3486784401");
  EXPECT_EQ(calculated("-3 ** 2"), "9");
  EXPECT_EQ(calculated("10 - 4 - 3"), "3");
  EXPECT_EQ(calculated("100 / 10 / 2"), "5");
  EXPECT_EQ(calculated("--10"), "10");
  EXPECT_EQ(calculated("- - -(2)"), "-2");
  EXPECT_EQ(calculated("-@\"P1D\""), "-P1D");
  EXPECT_EQ(calculated("-@\"-P1Y\""), "P1Y");
}

// 0008-LX-arithmetic 001: the kit gives 2778.69354943277; the digits of Python's decimal at 34
// digits.
TEST(Expression, RoundsToThirtyFourDigitsHalfEven) {
  EXPECT_EQ(calculated("1/3"), "0.3333333333333333333333333333333333");
  EXPECT_EQ(calculated("2/3"), "0.6666666666666666666666666666666667");
  const std::string payment =
      calculated("(p*r/12)/(1-(1+r/12)**-n)", {number("600000"), number("0.0375"), number("360")});
  EXPECT_EQ(payment.substr(0, 30), "2778.6935494327667680885203832");
}

TEST(Expression, AsksFactsByName) {
  const auto expression = Expression::parse("price / carat + price");
  ASSERT_TRUE(expression.ok());
  EXPECT_THAT(expression->names(), ElementsAre("price", "carat"));
  EXPECT_EQ(expression->operand(), nullptr);
  EXPECT_EQ(*expression->evaluate(std::vector<Value>{number("9"), number("0.5")}), number("27"));
}

// 0105-feel-math 023 to 030.
TEST(Expression, OfAMissingFactIsNull) {
  EXPECT_EQ(calculated("10 + a", {Value()}), "null");
  EXPECT_EQ(calculated("a / 10", {Value()}), "null");
  EXPECT_EQ(calculated("-a", {Value()}), "null");
  EXPECT_EQ(calculated("a > 5", {Value()}), "null");
  EXPECT_EQ(calculated("a = 5", {Value()}), "false");  // Table 49
}

// 0100-arithmetic add_…, subtract_….
TEST(Expression, CalculatesWithDatesAndTimes) {
  EXPECT_EQ(calculated("@\"2021-01-01\" + @\"PT36H\""), "2021-01-02");
  EXPECT_EQ(calculated("@\"2021-01-02\" - @\"PT1S\""), "2021-01-01");
  EXPECT_EQ(calculated("@\"2020-03-01\" - @\"PT24H\""), "2020-02-29");
  EXPECT_EQ(calculated("@\"P1M\" + @\"2021-01-01\""), "2021-02-01");
  EXPECT_EQ(calculated("@\"-2021-01-01T10:10:10+11:00\" - @\"P1M\""), "-2022-12-01T10:10:10+11:00");
  EXPECT_EQ(calculated("@\"2021-01-01T24:00:00\" - @\"PT1S\""), "2021-01-01T23:59:59");
  EXPECT_EQ(calculated("@\"2021-01-12T10:10:10@Australia/Melbourne\" + @\"P1DT1H\""),
            "2021-01-13T11:10:10@Australia/Melbourne");
  EXPECT_EQ(calculated("@\"10:15:00+11:00\" + @\"P1D\""), "10:15:00+11:00");
  EXPECT_EQ(calculated("@\"10:10:10\" - @\"11:10:10\""), "-PT1H");
  EXPECT_EQ(calculated("@\"2021-01-02\" - @\"1995-01-01\""), "P9498D");
  EXPECT_EQ(
      calculated("@\"2021-01-02T10:10:10@Europe/Paris\" - @\"1995-01-01T10:10:10@Asia/Dhaka\""),
      "P9498DT5H");
  EXPECT_EQ(calculated("@\"2021-01-02\" - @\"2021-01-01T10:10:10+11:00\""), "P1DT49M50S");
}

// XPath functions, op:add-yearMonthDuration-to-date, its examples; clause 9.4 names it. (Clause 10
// would give null for the first.)
TEST(Expression, KeepsADateInsideItsMonth) {
  EXPECT_EQ(calculated("@\"2000-01-31\" + @\"P1M\""), "2000-02-29");
  EXPECT_EQ(calculated("@\"2000-10-30\" - @\"P1Y2M\""), "1999-08-30");
  EXPECT_EQ(calculated("@\"2000-02-29\" - @\"P1Y\""), "1999-02-28");
}

// 0100-arithmetic multiply_…, divide_….
TEST(Expression, CalculatesWithDurations) {
  EXPECT_EQ(calculated("26 * @\"PT1H\""), "P1DT2H");
  EXPECT_EQ(calculated("2.5 * @\"PT23H\""), "P2DT9H30M");
  EXPECT_EQ(calculated("@\"P10DT23H\" / 2.5"), "P4DT9H12M");
  EXPECT_EQ(calculated("@\"P10D\" / @\"P5D\""), "2");
  EXPECT_EQ(calculated("@\"P1Y11M\" * -2.5"), "-P4Y9M");
  EXPECT_EQ(calculated("@\"P10Y11M\" / -2.5"), "-P4Y4M");
  EXPECT_EQ(calculated("@\"P1D\" - @\"PT25H\""), "-PT1H");
}

// Clause 9.2 rule 35.
TEST(Expression, ComparesAsAWhole) {
  EXPECT_EQ(calculated("2 + 3 >= 5"), "true");
  EXPECT_EQ(calculated("a != \"natural\"", {text("simulant")}), "true");
  EXPECT_THAT(calculated("a < 5", {text("5")}), HasSubstr("cannot be compared with"));
  EXPECT_THAT(calculated("1 < 2 < 3"), HasSubstr("the end of the cell"));
}

// What the standard makes null: 0100 error_when_…, 0105 016, 0075 decision_002 to _008.
TEST(Expression, WithoutAResultSaysWhy) {
  EXPECT_EQ(calculated("a / 0", {number("10")}), "error: 10 / 0 divides by zero");
  EXPECT_THAT(calculated("a + 1", {text("x")}),
              HasSubstr("\"x\" + 1 is not defined for values of these kinds"));
  EXPECT_THAT(calculated("@\"2021-01-01\" ** 10"), HasSubstr("not defined"));
  EXPECT_THAT(calculated("-@\"2021-01-01\""), HasSubstr("not defined"));
  EXPECT_THAT(calculated("@\"P1Y\" + @\"P1D\""), HasSubstr("not defined"));
  EXPECT_THAT(calculated("\"a\" + \"b\""), HasSubstr("not defined"));  // clause 10 only
  EXPECT_THAT(calculated("@\"PT1H\" - @\"10:00:00\""), HasSubstr("not defined"));
  EXPECT_THAT(calculated("2 ** 0.5"), HasSubstr("an exponent is a whole number"));
  EXPECT_THAT(calculated("0 ** -1"), HasSubstr("divides by zero"));
  EXPECT_THAT(calculated("10 ** 5000"), HasSubstr("out of range"));
  EXPECT_THAT(calculated("@\"999999999-12-31\" + @\"P1D\""), HasSubstr("out of range"));
  EXPECT_THAT(calculated("@\"2021-01-01T10:00:00Z\" - @\"2021-01-01T10:00:00\""),
              HasSubstr("has an offset"));
  EXPECT_THAT(calculated("@\"P999999999999999D\" * 10 ** 20"), HasSubstr("out of range"));
}

TEST(Expression, SaysWhatItCannotRead) {
  EXPECT_THAT(calculated(""), HasSubstr("empty"));
  EXPECT_THAT(calculated("-"), HasSubstr("no value"));
  EXPECT_THAT(calculated("1 +"), HasSubstr("ends where"));
  EXPECT_THAT(calculated("(1 + 2"), HasSubstr("the closing bracket"));
  EXPECT_THAT(calculated("floor(3)"), HasSubstr("functions"));
  EXPECT_THAT(calculated(std::string(100, '(') + "1"), HasSubstr("too deep"));
  EXPECT_THAT(calculated("a ++ b"), HasSubstr("stands where"));
}

// 10.3.1.6: the longest name wins; otherwise it is a difference.
TEST(Expression, TellsAMinusFromANameInScope) {
  const std::vector<std::string> scope = {"a", "b", "a-b", "rate of c"};
  EXPECT_THAT(Expression::parse("a-b", scope)->names(), ElementsAre("a-b"));
  EXPECT_THAT(Expression::parse("a - b", scope)->names(), ElementsAre("a", "b"));
  EXPECT_THAT(Expression::parse("rate of  c*2", scope)->names(), ElementsAre("rate of c"));
}

}  // namespace
}  // namespace girdle::policy
