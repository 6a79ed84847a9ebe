#include "base/decimal.h"

#include <gtest/gtest.h>

#include <clocale>
#include <limits>

namespace girdle::base {
namespace {

Decimal decimal(std::string_view text) {
  const auto value = Decimal::parse(text);
  EXPECT_TRUE(value) << text;
  return value.value_or(Decimal());
}

std::string text_or_none(const std::optional<Decimal>& value) {
  return value ? value->text() : "none";
}

struct Row {
  const char *a, *b, *sum, *difference, *product, *ratio;
  char order;
};

// Computed by CPython 3.11's decimal module with decimal_table.py.
constexpr Row kRows[] = {
#include "base/decimal_table.inc"
};

TEST(Decimal, AgreesWithAnotherImplementationOnSumsDifferencesAndProducts) {
  for (const Row& row : kRows) {
    SCOPED_TRACE(std::string(row.a) + " and " + row.b);
    EXPECT_EQ(text_or_none(add(decimal(row.a), decimal(row.b))), row.sum);
    EXPECT_EQ(text_or_none(subtract(decimal(row.a), decimal(row.b))), row.difference);
    EXPECT_EQ(text_or_none(multiply(decimal(row.a), decimal(row.b))), row.product);
  }
}

// A ratio with more than kMaxExponent digits after the point is out of our bounds.
TEST(Decimal, AgreesWithAnotherImplementationOnRatiosRoundedTo34Digits) {
  int refused = 0;
  for (const Row& row : kRows) {
    const std::string_view ratio = row.ratio;
    const size_t point = ratio.find('.');
    const bool bounded =
        point == std::string_view::npos || ratio.size() - point - 1 <= Decimal::kMaxExponent;
    refused += !bounded;
    EXPECT_EQ(text_or_none(divide(decimal(row.a), decimal(row.b))), bounded ? ratio : "none")
        << row.a << " by " << row.b;
  }
  EXPECT_LT(refused, 10);
}

TEST(Decimal, AgreesWithAnotherImplementationOnOrder) {
  for (const Row& row : kRows) {
    const auto order = decimal(row.a) <=> decimal(row.b);
    EXPECT_EQ(order < 0 ? '<' : order > 0 ? '>' : '=', row.order) << row.a << " and " << row.b;
    EXPECT_EQ(decimal(row.a) == decimal(row.b), row.order == '=');
  }
}

// IEEE 754-2008 4.3.1 roundTiesToEven; the values are CPython 3.11's quantize(), ROUND_HALF_EVEN.
TEST(Decimal, RoundsHalfToEven) {
  struct {
    const char* value;
    int places;
    const char* rounded;
  } constexpr kCases[] = {
      {"0.5", 0, "0"},      {"1.5", 0, "2"},
      {"2.5", 0, "2"},      {"-0.5", 0, "0"},
      {"-1.5", 0, "-2"},    {"2.50000000000000000001", 0, "3"},
      {"1.00005", 4, "1"},  {"1.00015", 4, "1.0002"},
      {"1.000049", 4, "1"}, {"36.66666666666666", 4, "36.6667"},
      {"0.00004", 4, "0"},  {"125", -1, "120"},
      {"135", -1, "140"},   {"4.2", 7, "4.2"},
      {"1e-40", 1, "0"},    {"0.99995", 4, "1"},
  };
  for (const auto& c : kCases) {
    EXPECT_EQ(decimal(c.value).rounded(c.places).text(), c.rounded) << c.value;
  }
}

TEST(Decimal, KeepsThirtyFourDigitsAndRefusesTheThirtyFifth) {
  const std::string digits = "1234567890123456789012345678901234";
  EXPECT_EQ(decimal(digits).text(), digits);
  EXPECT_EQ(decimal("0." + digits).text(), "0." + digits);
  EXPECT_FALSE(Decimal::parse(digits + "5"));
  EXPECT_FALSE(Decimal::parse("0." + digits + "5"));
  EXPECT_EQ(decimal(digits + "000").text(), digits + "000");  // still 34 significant digits
  EXPECT_EQ(decimal("0." + digits + "000000").text(), "0." + digits);
  EXPECT_EQ(decimal("0000000000000000000000000000000000000000012").text(), "12");
}

TEST(Decimal, HasOneFormForEachValue) {
  EXPECT_EQ(decimal("2.0"), decimal("2.00"));
  EXPECT_EQ(decimal("2.00").text(), "2");
  EXPECT_EQ(decimal("-0.000").text(), "0");
  EXPECT_EQ(decimal("1.2e3").text(), "1200");
  EXPECT_EQ(decimal("12E-4").text(), "0.0012");
  EXPECT_EQ(decimal("+.50").text(), "0.5");
  EXPECT_EQ(decimal("7.").text(), "7");
}

TEST(Decimal, RefusesWhatIsNoPlainNumber) {
  for (const char* text : {"",      " 1",    "1 ",
                           "-",     "+",     ".",
                           "-.",    "1,25",  "1'000",
                           "1_000", "0x1A",  "nan",
                           "NaN",   "inf",   "-Infinity",
                           "1e",    "1e+",   "1e1.5",
                           "1.2.3", "--1",   "1-",
                           "e5",    "½",     "１",
                           "1e65",  "1e-99", "1e99999999999999999999"}) {
    EXPECT_FALSE(Decimal::parse(text)) << text;
  }
  EXPECT_FALSE(Decimal::parse(std::string_view("1\0", 2)));
}

TEST(Decimal, DoesNotLookAtTheLocale) {
  const std::string before = std::setlocale(LC_ALL, nullptr);
  for (const char* name : {"de_DE.UTF-8", "fr_FR.UTF-8", "C.UTF-8"}) {
    std::setlocale(LC_ALL, name);  // one that is not installed changes nothing
    EXPECT_EQ(decimal("1234.5").text(), "1234.5");
    EXPECT_FALSE(Decimal::parse("1234,5"));
  }
  std::setlocale(LC_ALL, before.c_str());
}

TEST(Decimal, IsAnIntegerWhereItIsOneAndFits) {
  EXPECT_EQ(decimal("9223372036854775807").as_integer(), std::numeric_limits<int64_t>::max());
  EXPECT_EQ(decimal("-9223372036854775808").as_integer(), std::numeric_limits<int64_t>::min());
  EXPECT_FALSE(decimal("9223372036854775808").as_integer());
  EXPECT_FALSE(decimal("0.5").as_integer());
  EXPECT_EQ(decimal("1e3").as_integer(), 1000);
}

TEST(Decimal, BoundsTheExponent) {
  EXPECT_TRUE(Decimal::make(1, Decimal::kMaxExponent));
  EXPECT_FALSE(Decimal::make(1, Decimal::kMaxExponent + 1));
  EXPECT_FALSE(multiply(decimal("1e40"), decimal("1e40")));
  EXPECT_FALSE(divide(decimal("1e-40"), decimal("1e40")));
}

// CPython 3.11's decimal module, prec=34, ROUND_HALF_EVEN.
TEST(Decimal, RoundsProductsAndSumsOfMoreThanThirtyFourDigits) {
  EXPECT_EQ(rounded_product(decimal("1.234567890123456789012345678901234"), decimal("9.87654321")),
            decimal("12.19326311248285321124828532112482"));
  EXPECT_EQ(rounded_product(decimal("-1234567890123456789.5"), decimal("1234567890123456789.5")),
            decimal("-1524157875323883676253619888873647000"));
  EXPECT_EQ(rounded_product(decimal("3333333333333333333333333333333333"), decimal("2.5")),
            decimal("8333333333333333333333333333333332"));
  EXPECT_EQ(rounded_product(decimal("9999999999999999999999999999999999"), decimal("9999999999999999999999999999999999")),
            decimal("9.999999999999999999999999999999998e67"));
  EXPECT_EQ(rounded_sum(decimal("9999999999999999999999999999999999"), decimal("0.5")), decimal("1e34"));
  EXPECT_EQ(rounded_sum(decimal("1234567890123456789012345678901234"), decimal("0.50")),
            decimal("1234567890123456789012345678901234"));
  EXPECT_EQ(rounded_sum(decimal("1234567890123456789012345678901235"), decimal("0.5")),
            decimal("1234567890123456789012345678901236"));
  EXPECT_EQ(rounded_sum(decimal("-1234567890123456789012345678901234"), decimal("-0.51")),
            decimal("-1234567890123456789012345678901235"));
  EXPECT_EQ(rounded_sum(decimal("1e40"), decimal("-1e-40")), decimal("1e40"));
  EXPECT_EQ(rounded_sum(decimal("5e33"), decimal("0.49999")), decimal("5e33"));
}

TEST(Decimal, RaisesToWholePowers) {
  EXPECT_EQ(power(decimal("3"), 20), decimal("3486784401"));
  EXPECT_EQ(power(decimal("-2"), 3), decimal("-8"));
  EXPECT_EQ(power(decimal("10"), -5), decimal("0.00001"));
  EXPECT_EQ(power(decimal("0"), 0), decimal("1"));
  EXPECT_EQ(power(decimal("1"), std::numeric_limits<int64_t>::min()), decimal("1"));
  EXPECT_FALSE(power(decimal("0"), -1));
  EXPECT_FALSE(power(decimal("10"), 65));
  EXPECT_FALSE(power(decimal("2"), std::numeric_limits<int64_t>::max()));
}

TEST(Decimal, CountsUnitsOfAPlace) {
  EXPECT_TRUE(decimal("1.25").scaled_integer(2) == __int128{125});
  EXPECT_TRUE(decimal("1.25").scaled_integer(1) == __int128{12});
  EXPECT_TRUE(decimal("-3e5").scaled_integer(0) == __int128{-300000});
  EXPECT_TRUE(decimal("1e-60").scaled_integer(9) == __int128{0});
  EXPECT_FALSE(decimal("1e30").scaled_integer(9));
}

}  // namespace
}  // namespace girdle::base
