#include "reading/field_values.h"

#include <gmock/gmock.h>

namespace girdle::reading {
namespace {

using testing::HasSubstr;

std::string read(std::string_view text, const NumberForm& form = {}) {
  std::optional<base::Decimal> number;
  std::string reason;
  return read_decimal(text, form, number, reason) ? number->text() : reason;
}

TEST(ReadDecimal, TakesNumbersUnderAPoint) {
  EXPECT_EQ(read("0.53"), "0.53");
  EXPECT_EQ(read("-4"), "-4");
  EXPECT_EQ(read("12E-1"), "1.2");
}

// "1,25" under a point is what std::from_chars and atof read as 1.
TEST(ReadDecimal, NeverReadsHalfANumber) {
  EXPECT_EQ(read("1,25"),
            "holds \"1,25\", which is no number with the decimal mark \".\" and without group "
            "marks; if \",\" is the "
            "decimal mark, the mapping says  decimal: \",\"");
  EXPECT_EQ(read("1,234.5"),
            "holds \"1,234.5\", which is no number with the decimal mark \".\" and without group "
            "marks; if \",\" sets "
            "groups apart, the mapping says  group: \",\"");
  for (const char* text :
       {"1.25ct", "1.2.5", "nan", "inf", "-inf", "1 234", "0x10", "1/4", "≈1", "1.25 ", "½"}) {
    EXPECT_THAT(read(text), HasSubstr("which is no number")) << text;
  }
}

TEST(ReadDecimal, TakesTheMarksThatTheMappingNames) {
  const NumberForm comma = {.decimal_mark = ','};
  EXPECT_EQ(read("1,25", comma), "1.25");
  EXPECT_EQ(read("-0,5", comma), "-0.5");
  EXPECT_EQ(read("125", comma), "125");
  EXPECT_EQ(read(",5", comma), "0.5");
  EXPECT_THAT(read("1.25", comma), HasSubstr("decimal: \".\""));
  EXPECT_THAT(read("1,2,5", comma), HasSubstr("no number"));
  EXPECT_THAT(read("1,2.5", comma), HasSubstr("no number"));
  EXPECT_THAT(read(",", comma), HasSubstr("no number"));

  const NumberForm grouped = {.decimal_mark = ',', .group_mark = '.'};
  EXPECT_EQ(read("1.234.567,8", grouped), "1234567.8");
  EXPECT_EQ(read("-1.234", grouped), "-1234");
  EXPECT_EQ(read("1234,5", grouped), "1234.5");
  EXPECT_EQ(read("12,5", grouped), "12.5");
  EXPECT_EQ(read("1 234 567", {.group_mark = ' '}), "1234567");
  EXPECT_EQ(read("1'234.50", {.group_mark = '\''}), "1234.5");
}

// 1234567.89 as ICU 78.2 prints it by CLDR 48, run with Node.js; the same value is num.locales in
// checks/wire.json. Spaces that are none of ASCII, groups of two and other digits are no number,
// and never another one.
TEST(ReadDecimal, ReadsWhatLocalesPrintOrSaysThatItIsNoNumber) {
  const NumberForm point = {.group_mark = ','}, comma = {.decimal_mark = ',', .group_mark = '.'};
  const NumberForm apostrophe = {.group_mark = '\''},
                   space = {.decimal_mark = ',', .group_mark = ' '};
  EXPECT_EQ(read("1,234,567.89", point), "1234567.89");       // en-US, he-IL, zh-CN
  EXPECT_EQ(read("1.234.567,89", comma), "1234567.89");       // de-DE, nl-BE, it-IT, es-ES, pt-BR
  EXPECT_EQ(read("1'234'567.89", apostrophe), "1234567.89");  // de-CH
  EXPECT_THAT(read("1\u202F234\u202F567,89", space), HasSubstr("no number"));  // fr-FR
  EXPECT_THAT(read("1\u00A0234\u00A0567,89", space),
              HasSubstr("no number"));                               // ru-RU, sv-SE, pl-PL
  EXPECT_THAT(read("12,34,567.89", point), HasSubstr("no number"));  // en-IN, hi-IN
  EXPECT_THAT(read("١٬٢٣٤٬٥٦٧٫٨٩", point), HasSubstr("no number"));  // ar-EG
}

TEST(ReadDecimal, RefusesGroupsThatAreNotOfThreeDigits) {
  const NumberForm grouped = {.decimal_mark = ',', .group_mark = '.'};
  for (const char* text :
       {"1.25", "1.2345", "12.34.567", ".123", "1..234", "1.234.", "1234.567", "1.234,5.6",
        "1.234,567.890", "0.500", "00.500", "-.123", "1.-234", "1.2e4", "+-1.234"}) {
    EXPECT_THAT(read(text, grouped), HasSubstr("groups of three digits set apart by \".\""))
        << text;
  }
  EXPECT_THAT(read("1.5", {.decimal_mark = ',', .group_mark = '\''}), HasSubstr("no number"));
  EXPECT_THAT(read("1,5", {.decimal_mark = '.', .group_mark = '\''}), HasSubstr("no number"));
}

// The metric carat is 0.2 g (4th CGPM, 1907; NIST SP 811, B.8); the inch is 25.4 mm exactly
// (international yard and pound agreement, 1959); t/°C = (t/°F - 32)/1.8 (NIST SP 811, B.8).
TEST(ReadDecimal, ConvertsUnitsExactly) {
  const auto in = [](std::string_view text, std::string_view field, std::string_view unit) {
    return read(text, {.unit = *unit_of(field, unit)});
  };
  EXPECT_EQ(in("0.2", "carat", "g"), "1");
  EXPECT_EQ(in("0.1064", "carat", "g"), "0.532");
  EXPECT_EQ(in("200", "carat", "mg"), "1");
  EXPECT_EQ(in("107", "carat", "mg"), "0.535");
  EXPECT_EQ(in("1.01", "carat", "ct"), "1.01");
  EXPECT_EQ(in("6430", "length_mm", "um"), "6.43");
  EXPECT_EQ(in("0.25", "table_mm", "in"), "6.35");
  EXPECT_EQ(in("6.43", "depth_mm", "mm"), "6.43");
  EXPECT_EQ(in("32", "temperature_c", "F"), "0");
  EXPECT_EQ(in("212", "temperature_c", "F"), "100");
  EXPECT_EQ(in("-40", "temperature_c", "F"), "-40");
  EXPECT_EQ(in("98.6", "temperature_c", "F"), "37");
  EXPECT_EQ(in("70", "temperature_c", "F"), "21.1111");  // 21.1111…: four places
  EXPECT_EQ(in("71", "temperature_c", "F"), "21.6667");
  EXPECT_EQ(in("97.5", "confidence", "percent"), "0.975");
  EXPECT_EQ(in("0.45", "humidity_pct", "1"), "45");
  EXPECT_EQ(in("45", "humidity_pct", "percent"), "45");
}

TEST(UnitOf, KnowsAFieldsOwnUnitsOnly) {
  EXPECT_FALSE(unit_of("carat", "mm"));
  EXPECT_FALSE(unit_of("length_mm", "ct"));
  EXPECT_FALSE(unit_of("temperature_c", "K"));
  EXPECT_FALSE(unit_of("carat", "CT"));
  EXPECT_FALSE(unit_of("note", "g"));
  EXPECT_EQ(unit_of("note", ""), Unit::kOurs);
}

TEST(ReadDecimal, RefusesWhatAFieldCannotHold) {
  const auto in = [](std::string_view text, Range range, Unit unit = Unit::kOurs) {
    return read(text, {.unit = unit, .range = range});
  };
  EXPECT_EQ(in("0", Range::kPositive), "holds \"0\", which must be more than 0");
  EXPECT_THAT(in("-0.5", Range::kPositive), HasSubstr("must be more than 0"));
  EXPECT_EQ(in("0.00", Range::kNotNegative), "0");
  EXPECT_THAT(in("-0.01", Range::kNotNegative), HasSubstr("must not be negative"));
  EXPECT_EQ(in("2", Range::kCount), "2");
  EXPECT_EQ(in("2.0", Range::kCount), "2");
  for (const char* text : {"0", "-1", "2.5"})
    EXPECT_THAT(in(text, Range::kCount), HasSubstr("whole number"));
  EXPECT_EQ(in("1", Range::kFraction), "1");
  EXPECT_EQ(in("0", Range::kFraction), "0");
  EXPECT_THAT(in("1.001", Range::kFraction), HasSubstr("unit: percent"));
  EXPECT_THAT(in("-0.1", Range::kFraction), HasSubstr("from 0 to 1"));
  EXPECT_EQ(in("100", Range::kFraction, Unit::kPercentOfOne), "1");
  EXPECT_EQ(in("100.1", Range::kFraction, Unit::kPercentOfOne).substr(0, 33),
            "holds \"100.1\" (1.001 in our unit)");
  EXPECT_EQ(in("100", Range::kPercent), "100");
  EXPECT_THAT(in("100.01", Range::kPercent), HasSubstr("from 0 to 100"));
  EXPECT_EQ(in("-273.15", Range::kCelsius), "-273.15");
  EXPECT_THAT(in("-273.16", Range::kCelsius), HasSubstr("-273.15"));
  EXPECT_EQ(in("-459.67", Range::kCelsius, Unit::kFahrenheit),
            "-273.15");  // NIST SP 811: absolute zero
}

TEST(ReadDecimal, RefusesMoreDigitsThanAreKept) {
  EXPECT_THAT(read("0.12345678901234567890123456789012345"), HasSubstr("no number"));
  EXPECT_THAT(read("0.9999999999999999999999999999999999", {.unit = Unit::kInch}),
              HasSubstr("more digits than are kept"));
}

TEST(WithoutOuterSpace, LeavesWhatIsInside) {
  EXPECT_EQ(without_outer_space(" \t R 10 \r\n"), "R 10");
  EXPECT_EQ(without_outer_space("R10"), "R10");
  EXPECT_EQ(without_outer_space(" \r\n\t"), "");
  EXPECT_EQ(without_outer_space(""), "");
  EXPECT_EQ(without_outer_space("\xC2\xA0R"), "\xC2\xA0R");
  EXPECT_EQ(without_outer_space(std::string_view("\0R\0", 3)), std::string_view("\0R\0", 3));
}

TEST(CheckKey, RefusesWhatNoKeyHolds) {
  std::string reason;
  for (const char* text : {"007", "12E4", "r-10/42 b", "N\xC2\xB0 4", "Ring \xE2\x80\x93 4"}) {
    EXPECT_TRUE(check_key(text, reason)) << text;
  }
  EXPECT_TRUE(check_key(std::string(200, 'x'), reason));
  EXPECT_FALSE(check_key(std::string(201, 'x'), reason));
  EXPECT_EQ(reason, "holds a text of 201 bytes; at most 200 are kept");
  for (const char* text : {"a\tb", "a\nb", "a\x7F", "a\x1B[2J", "a\xC2\x85", "\x1D"}) {
    EXPECT_FALSE(check_key(text, reason));
    EXPECT_THAT(reason, HasSubstr("control characters"));
  }
  EXPECT_FALSE(check_key(std::string_view("a\0b", 3), reason));
  EXPECT_FALSE(check_key("caf\xE9", reason));
  EXPECT_EQ(reason, "holds bytes that are not UTF-8: \"caf\\xe9\"");
}

TEST(CheckNote, TakesLinesOfText) {
  std::string reason;
  EXPECT_TRUE(check_note("cleaned\r\n\tagain", reason));
  EXPECT_TRUE(check_note(std::string(4000, 'x'), reason));
  EXPECT_FALSE(check_note(std::string(4001, 'x'), reason));
  EXPECT_FALSE(check_note("a\x1B[2J", reason));
}

}  // namespace
}  // namespace girdle::reading
