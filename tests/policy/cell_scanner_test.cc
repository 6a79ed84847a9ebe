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

TEST(CellScanner, NamesWhatIsNotSupportedYet) {
  EXPECT_THAT(error("date(\"2024-01-01\")"), HasSubstr("not supported"));
  EXPECT_THAT(error("date and time(\"2024-01-01T00:00:00\")"), HasSubstr("dates"));
  EXPECT_THAT(error("@\"P1D\""), HasSubstr("durations"));
  EXPECT_THAT(error("valid + 1"), HasSubstr("arithmetic"));
  EXPECT_THAT(error("floor(3)"), HasSubstr("functions"));
}

TEST(CellScanner, SaysAtWhichCharacter) {
  EXPECT_THAT(error("  5 ct"), HasSubstr("at character 5"));
}

}  // namespace
}  // namespace girdle::policy
