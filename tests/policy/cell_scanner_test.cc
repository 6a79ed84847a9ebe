// Literals of DMN TCK 0100-feel-constants (github.com/dmn-tck/tck at 0dbcaf9) by id, and DMN 1.5
// clause 9.2.
#include "policy/cell_scanner.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "policy/values.h"

namespace girdle::policy {
namespace {

using testing::HasSubstr;

Value literal(std::string_view cell) {
  std::vector<std::string> names;
  const auto operand = parse_operand(cell, names);
  EXPECT_TRUE(operand.ok()) << cell << ": " << operand.error().text;
  return operand ? operand->literal : Value();
}

std::string error(std::string_view cell) {
  std::vector<std::string> names;
  const auto operand = parse_operand(cell, names);
  EXPECT_FALSE(operand.ok()) << cell;
  return operand ? "" : operand.error().text;
}

TEST(CellScanner, ReadsTheNumbersOfTheKit) {
  EXPECT_EQ(literal("-.872"), number("-0.872"));
  EXPECT_EQ(literal("-125.4321987654"), number("-125.4321987654"));
  EXPECT_EQ(literal("50"), number("50"));
  EXPECT_EQ(literal(" -50 "), number("-50"));
  EXPECT_EQ(literal("1.23e-4"), number("0.000123"));  // 0068-feel-equality/number_010
}

TEST(CellScanner, ReadsTheTextsOfTheKit) {
  EXPECT_EQ(literal("\"foo bar\""), text("foo bar"));
  EXPECT_EQ(literal("\"šomeÚnicodeŠtriňg\""), text("šomeÚnicodeŠtriňg"));
}

// Rule 38, clause 10 rule 64.
TEST(CellScanner, ReadsEscapes) {
  EXPECT_EQ(literal(R"("\'\"\\\n\r\t")"), text("'\"\\\n\r\t"));
  EXPECT_EQ(literal(R"("\u00e9\u20AC")"), text("é€"));
  EXPECT_EQ(literal(R"("\U01F48E")"), text("\xF0\x9F\x92\x8E"));
  EXPECT_EQ(literal(R"("\uD83D\uDC8E")"), text("\xF0\x9F\x92\x8E"));
}

TEST(CellScanner, RefusesEscapesThatAreNoCharacter) {
  EXPECT_THAT(error(R"("\x41")"), HasSubstr("an escape is one of"));
  EXPECT_THAT(error(R"("\u00g0")"), HasSubstr("4 hexadecimal digits"));
  EXPECT_THAT(error(R"("\uD83D")"), HasSubstr("no Unicode character"));
  EXPECT_THAT(error(R"("\uD83D\u0041")"), HasSubstr("surrogate"));
  EXPECT_THAT(error(R"("\UFFFFFF")"), HasSubstr("no Unicode character"));
  EXPECT_THAT(error("\"\\"), HasSubstr("an escape is one of"));
}

TEST(CellScanner, ReadsTrueFalseAndNull) {
  EXPECT_EQ(literal("true"), Value(true));
  EXPECT_EQ(literal("false"), Value(false));
  EXPECT_EQ(literal("null"), Value());
}

TEST(CellScanner, ReadsNamesOfFacts) {
  std::vector<std::string> names;
  const auto operand = parse_operand(" structA.price ", names);
  ASSERT_TRUE(operand.ok());
  EXPECT_TRUE(operand->is_name());
  EXPECT_EQ(names, std::vector<std::string>{"structA.price"});
}

TEST(CellScanner, SaysWhatItCannotRead) {
  EXPECT_THAT(error(""), HasSubstr("empty"));
  EXPECT_THAT(error("-"), HasSubstr("null for none"));
  EXPECT_THAT(error("5ct"), HasSubstr("units are not written"));
  EXPECT_THAT(error("'natural'"), HasSubstr("double quotes"));
  EXPECT_THAT(error("“natural”"), HasSubstr("double quotes"));
  EXPECT_THAT(error("\"natural"), HasSubstr("closing double quote"));
  EXPECT_THAT(error("\"a\nb\""), HasSubstr("ends on its line"));
  EXPECT_THAT(error("12345678901234567890123456789012345"), HasSubstr("34 digits"));
  EXPECT_THAT(error("\xFF"), HasSubstr("UTF-8"));
}

// Rule 34, and of clause 10 rules 65 and 66; 0093-feel-at-literals test_001 to test_005.
TEST(CellScanner, ReadsDatesTimesAndDurations) {
  EXPECT_EQ(literal("date(\"2024-02-29\")"), value("2024-02-29", Type::kDate));
  EXPECT_EQ(literal("time( \"10:30:11\" )"), value("10:30:11", Type::kTime));
  EXPECT_EQ(literal("duration(\"P10D\")"), value("P10D", Type::kDaysDuration));
  EXPECT_EQ(literal("duration(\"P1Y2M\")"), value("P14M", Type::kMonthsDuration));
  EXPECT_EQ(literal("date  and time(\"2018-12-08T10:30:11\")"),
            value("2018-12-08T10:30:11", Type::kDateTime));
  EXPECT_EQ(literal("@\"2018-12-08T10:30:11\""), value("2018-12-08T10:30:11", Type::kDateTime));
  EXPECT_EQ(literal("@\"10:30:11\""), value("10:30:11", Type::kTime));
  EXPECT_EQ(literal("@\"2019-03-31\""), value("2019-03-31", Type::kDate));
  EXPECT_EQ(literal("@\"-P10D\""), value("-P10D", Type::kDaysDuration));
}

TEST(CellScanner, SaysWhatIsWrongWithADate) {
  EXPECT_THAT(error("date(\"2017-13-10\")"),
              HasSubstr("at character 1: date(…): \"2017-13-10\" has no month 13"));
  EXPECT_THAT(error("@\"foo\""),
              HasSubstr("at character 1: @\"foo\" is not written like 2026-11-02"));
  EXPECT_THAT(error("@2026-11-02"), HasSubstr("in double quotes"));
  EXPECT_THAT(error("date(measured_at)"),
              HasSubstr("takes a text in double quotes, such as date(\"2026-11-02\")"));
  EXPECT_THAT(error("date and (\"2026-11-02\")"), HasSubstr("\"time\" of date and time"));
  EXPECT_THAT(error("time(\"10:00:00\""), HasSubstr("closing bracket of time"));
}

TEST(CellScanner, NamesWhatItDoesNotDo) {
  EXPECT_THAT(error("valid + 1"), HasSubstr("\"+ 1\" stands where the end of the cell"));
  EXPECT_THAT(error("floor(3)"), HasSubstr("functions"));
}

// 10.3.1.4 and 10.3.1.6: blanks in a run count as one, the longest name in scope wins.
TEST(CellScanner, ReadsNamesInScopeWithBlanksAndSigns) {
  const std::vector<std::string> in_scope = {"Pre", "Pre-bureau", "Pre-bureau risk",
                                             "date of birth", "größe"};
  const auto name = [&](std::string_view text) {
    std::vector<std::string> names;
    CellScanner scanner(text, names, in_scope);
    const auto operand = scanner.operand();
    return operand && scanner.at_end() && names.size() == 1 ? names[0] : "none";
  };
  EXPECT_EQ(name("Pre-bureau \t risk"), "Pre-bureau risk");
  EXPECT_EQ(name("Pre-bureau"), "Pre-bureau");
  EXPECT_EQ(name("Pre"), "Pre");
  EXPECT_EQ(name("Pre-bureaucrat"), "none");
  EXPECT_EQ(name("date of birth"), "date of birth");
  EXPECT_EQ(name("größe"), "größe");
}

TEST(CellScanner, SaysAtWhichCharacter) {
  EXPECT_THAT(error("  5 ct"), HasSubstr("at character 5"));
}

}  // namespace
}  // namespace girdle::policy
