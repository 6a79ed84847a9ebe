// Sources beside the checks: clauses of DMN 1.5, and rows of the DMN TCK (github.com/dmn-tck/tck at
// 0dbcaf9) by id.
#include "policy/unary_test.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "policy/values.h"

namespace girdle::policy {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using Answer = std::optional<bool>;

Answer matches(std::string_view cell, const Value& input, std::vector<Value> facts = {}) {
  const auto test = UnaryTest::parse(cell);
  EXPECT_TRUE(test.ok()) << cell << ": " << test.error().text;
  return test ? test->matches(input, facts) : std::nullopt;
}

std::string error(std::string_view cell) {
  const auto test = UnaryTest::parse(cell);
  EXPECT_FALSE(test.ok()) << cell;
  return test ? "" : test.error().text;
}

// 0072-feel-in number_003 to number_006 and their _a and _1 rows.
TEST(UnaryTest, ComparesNumbers) {
  EXPECT_EQ(matches("<= 10", number("10")), true);
  EXPECT_EQ(matches("<=10", number("11")), false);
  EXPECT_EQ(matches("< 10", number("10")), false);
  EXPECT_EQ(matches("< 10", number("1")), true);
  EXPECT_EQ(matches(">= 10", number("10")), true);
  EXPECT_EQ(matches("> 10", number("11")), true);
  EXPECT_EQ(matches(">10", number("10")), false);
}

// 0072-feel-in number_007 to number_010, rows a to e; ends as in 9.4.
TEST(UnaryTest, KeepsOrLeavesTheEndsOfRanges) {
  const auto row = [](std::string_view cell) {
    std::string found;
    for (const auto* input : {"1", "2", "3", "4", "5"}) {
      found += matches(cell, number(input)) == true ? 'y' : 'n';
    }
    return found;
  };
  EXPECT_EQ(row("(2..4)"), "nnynn");
  EXPECT_EQ(row("(2..4]"), "nnyyn");
  EXPECT_EQ(row("[2..4)"), "nyynn");
  EXPECT_EQ(row("[2..4]"), "nyyyn");
}

// 0068-feel-equality range_004, range_005: ]1..10] is (1..10], [1..10[ is [1..10).
TEST(UnaryTest, TakesBracketsTurnedOutwardsForRoundOnes) {
  EXPECT_EQ(matches("]2..4[", number("2")), false);
  EXPECT_EQ(matches("]2..4[", number("3")), true);
  EXPECT_EQ(matches("]2..4[", number("4")), false);
  EXPECT_EQ(matches(" [ 2 .. 4 [ ", number("2")), true);  // 1156-range-function decision006: spaces
}

// 0072-feel-in number_002, number_014_a, string_001, boolean_014.
TEST(UnaryTest, IsSatisfiedByAnyOfAList) {
  EXPECT_EQ(matches("[2..4], [1..3]", number("1")), true);
  EXPECT_EQ(matches("1, 5, 9", number("10")), false);
  EXPECT_EQ(matches("\"b\",\"c\",\"a\"", text("a")), true);
  EXPECT_EQ(matches("false, true", Value(true)), true);
}

// 0068-feel-equality boolean_002, string_003; 10.3.2.10 rule 15.b.
TEST(UnaryTest, NotIsSatisfiedWhenNoneOfTheListIs) {
  EXPECT_EQ(matches("not(true)", Value(true)), false);
  EXPECT_EQ(matches("not(\"Foo\")", text("foo")), true);
  EXPECT_EQ(matches("not (1, [3..4])", number("2")), true);
  EXPECT_EQ(matches("not(1, [3..4])", number("3")), false);
}

// 0072-feel-in number_015_a, number_015_c, number_016_b, string_016_c (unary = and != are clause
// 10's).
TEST(UnaryTest, TakesEqualsAndNotEquals) {
  EXPECT_EQ(matches("=10", number("10")), true);
  EXPECT_EQ(matches("=11", number("10")), false);
  EXPECT_EQ(matches("!=10", number("10")), false);
  EXPECT_EQ(matches("!= \"b\"", text("a")), true);
}

// 0072-feel-in string_005, string_007_b, string_010_d; Table 54.
TEST(UnaryTest, OrdersTexts) {
  EXPECT_EQ(matches(">= \"a\"", text("b")), true);
  EXPECT_EQ(matches("(\"b\"..\"d\")", text("b")), false);
  EXPECT_EQ(matches("[\"b\"..\"d\"]", text("d")), true);
}

// 8.1: every value satisfies "-". Clause 10 would leave null out; README.md has the choice.
TEST(UnaryTest, DashAcceptsEverythingAndNull) {
  EXPECT_EQ(matches(" - ", number("-1")), true);
  EXPECT_EQ(matches("-", Value()), true);
}

// Tables 49, 52-54; 0071-feel-between/null_001.
TEST(UnaryTest, OrderWithAMissingValueIsUnknownAndSoIsItsNegation) {
  EXPECT_EQ(matches("< 10", Value()), std::nullopt);
  EXPECT_EQ(matches("not(< 10)", Value()), std::nullopt);
  EXPECT_EQ(matches("[1..10]", Value()), std::nullopt);
}

// Table 49 rows for null, 10.3.2.10 rule 15.b: the trap that tables warn of.
TEST(UnaryTest, EqualityWithAMissingValueIsFalseAndItsNegationTrue) {
  EXPECT_EQ(matches("5", Value()), false);
  EXPECT_EQ(matches("not(5)", Value()), true);
  EXPECT_EQ(matches("null", Value()), true);
  EXPECT_EQ(matches("not(null)", Value()), false);  // 0068-feel-equality/null_002
}

// 0068-feel-equality boolean_008, number_007; Table 52.
TEST(UnaryTest, OtherKindsAreNeitherEqualNorDifferent) {
  EXPECT_EQ(matches("0", Value(false)), std::nullopt);
  EXPECT_EQ(matches("not(\"100\")", number("100")), std::nullopt);
  const auto test = UnaryTest::parse("5");
  ASSERT_TRUE(test.ok());
  EXPECT_EQ(test->evaluate(text("5"), {}), Truth::kMismatch);
}

// 0072-feel-in null_001_a, _c, _d; issue DMN15-78.
TEST(UnaryTest, RangeWithAMissingEndIsNeverSatisfied) {
  EXPECT_EQ(matches("[1..null]", number("5")), std::nullopt);
  EXPECT_EQ(matches("(null..10]", number("5")), std::nullopt);
  EXPECT_EQ(matches("not([null..10])", number("11")), std::nullopt);
  EXPECT_EQ(matches("[low..high]", number("5"), {number("1"), Value()}), std::nullopt);
}

// 0017-tableTests/priceInRange, 0036-dt-variable-input/Compare Number and Compare String.
TEST(UnaryTest, ComparesWithOtherFactsByName) {
  EXPECT_EQ(matches("[numB..numC]", number("20"), {number("9"), number("10")}), false);
  EXPECT_EQ(matches("[numB..numC]", number("9.5"), {number("9"), number("10")}), true);
  EXPECT_EQ(matches("> Complex.aNumber", number("3"), {number("2")}), true);
  EXPECT_EQ(matches("not(Complex.aString)", text("a"), {text("b")}), true);
  EXPECT_EQ(matches(">= required", number("2"), {number("2")}), true);
}

TEST(UnaryTest, TakesAFactThatIsNotHandedOverForMissing) {
  EXPECT_EQ(matches(">= required", number("2")), std::nullopt);
  EXPECT_EQ(matches("= finding", Value()), true);  // null = null, Table 49
}

// 10.3.2.7: a range whose ends turn out the wrong way round is no range.
TEST(UnaryTest, RangeThatRunsBackwardsAtRunTimeIsUnknown) {
  EXPECT_EQ(matches("[low..high]", number("2"), {number("3"), number("1")}), std::nullopt);
  EXPECT_EQ(matches("not([low..high])", number("2"), {number("3"), number("1")}), std::nullopt);
}

TEST(UnaryTest, ListsItsNamesOnceAndInOrder) {
  const auto test = UnaryTest::parse("not(b, [a..b], \"c\", a.b)");
  ASSERT_TRUE(test.ok());
  EXPECT_THAT(test->names(), ElementsAre("b", "a", "a.b"));
}

TEST(UnaryTest, FindsItsFactsWhereItIsBoundTo) {
  auto test = UnaryTest::parse("[low..high]");
  ASSERT_TRUE(test.ok());
  test->bind(std::vector<int32_t>{2, 0});
  const std::vector<Value> facts = {number("9"), text("x"), number("5")};
  EXPECT_EQ(test->matches(number("6"), facts), true);
  EXPECT_EQ(test->matches(number("10"), facts), false);
}

// 1156-range-function decision020, 019_a (mixed types, here of numbers and texts), 027;
// sfeel 10.3.2.7.
TEST(UnaryTest, RefusesRangesThatAreNone) {
  EXPECT_THAT(error("[3..1]"), HasSubstr("backwards"));
  EXPECT_THAT(error("[1..\"b\"]"), HasSubstr("of one kind"));
  EXPECT_THAT(error("[false..true]"), HasSubstr("of one kind"));
  EXPECT_THAT(error("[null..null]"), HasSubstr("two ends"));
  EXPECT_THAT(error("[..2]"), HasSubstr("stands where"));
  EXPECT_THAT(error("[1..]"), HasSubstr("stands where"));
  EXPECT_THAT(error("[1..2"), HasSubstr("closing bracket"));
  EXPECT_THAT(error("[1, 2]"), HasSubstr("\"..\""));
}

TEST(UnaryTest, RefusesWhatTheGrammarDoesNotHave) {
  EXPECT_THAT(error(""), HasSubstr("write -"));
  EXPECT_THAT(error("\t"), HasSubstr("write -"));
  EXPECT_THAT(error("not(-)"), HasSubstr("stands alone"));
  EXPECT_THAT(error("-, 5"), HasSubstr("stands alone"));
  EXPECT_THAT(error("not(not(5))"), HasSubstr("goes round the whole cell"));
  EXPECT_THAT(error("5, not(6)"), HasSubstr("goes round the whole cell"));
  EXPECT_THAT(error("not 5"), HasSubstr("brackets"));
  EXPECT_THAT(error("not(5"), HasSubstr("the cell ends"));
  EXPECT_THAT(error("5,"), HasSubstr("the cell ends"));
  EXPECT_THAT(error("5 6"), HasSubstr("\"6\""));
  EXPECT_THAT(error("< > 5"), HasSubstr("stands where"));
  EXPECT_THAT(error("x + 1"), HasSubstr("arithmetic"));
  EXPECT_THAT(error(std::string(70000, '1')), HasSubstr("64 KiB"));
}

}  // namespace
}  // namespace girdle::policy
