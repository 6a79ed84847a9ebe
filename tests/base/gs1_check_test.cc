#include "base/gs1_check.h"

#include <gtest/gtest.h>

namespace girdle::base {
namespace {

char check_digit_of(std::string_view number) {
  return gs1_check_digit(number.substr(0, number.size() - 1));
}

TEST(Gs1Check, EndsPublishedNumbersWithTheirDigit) {
  // GS1 Barcode Syntax Dictionary, its unit tests test_lint_csum (GS1 AISBL, Apache-2.0): 8, 12, 13
  // and 18 digits.
  for (const char* number : {"02345673", "416000336108", "1234567890128", "123456789012345675"})
    EXPECT_EQ(check_digit_of(number), std::string_view(number).back()) << number;
  EXPECT_EQ(check_digit_of("12345673"), '0');
  EXPECT_EQ(check_digit_of("1234567890129"), '8');
  // GS1 Barcode Syntax Engine, its unit tests scandata.c and dl.c: the right one, and a wrong one.
  for (const char* number :
       {"24012345678905", "02345680", "006141411234567890", "952012345678912345", "9520123456788",
        "09520123456788", "2112345678900", "9526064000028"})
    EXPECT_EQ(check_digit_of(number), std::string_view(number).back()) << number;
  EXPECT_NE(check_digit_of("24012345678909"), '9');
  EXPECT_NE(check_digit_of("02345689"), '9');
  // python-stdnum (LGPL-2.1+), doctests of its module ean.
  for (const char* number : {"73513537", "9780471117094", "7501031311309"})
    EXPECT_EQ(check_digit_of(number), std::string_view(number).back()) << number;
  // GS1's EPCIS examples.
  for (const char* number : {"09506000134352", "9506000134307"})
    EXPECT_EQ(check_digit_of(number), std::string_view(number).back()) << number;
}

// GS1 Barcode Syntax Dictionary, test_lint_csumalpha.
TEST(Gs1Check, EndsPublishedModelNumbersWithTheirPair) {
  EXPECT_EQ(gs1_check_pair("12345678901234567890123"), "NT");
  EXPECT_EQ(gs1_check_pair("7907665Bm8v2"), "AB");
  EXPECT_EQ(gs1_check_pair("23956qk1&dB!"), "23");
  EXPECT_EQ(gs1_check_pair("00000!"), "HV");
}

TEST(Gs1Check, MakesNoPairForWhatModelNumbersDoNotHave) {
  EXPECT_EQ(gs1_check_pair("123456789012345678901234"), std::nullopt);
  EXPECT_EQ(gs1_check_pair("12 4"), std::nullopt);
  EXPECT_EQ(gs1_check_pair("12#4"), std::nullopt);
}

// General Specifications, figure 7.11-1: the characters by their codes in ISO 646.
TEST(Gs1Check, KnowsTheCharactersOfSet82) {
  std::string set;
  for (int c = 0; c < 256; ++c) {
    const auto place = gs1_place_in_set_82(static_cast<char>(c));
    if (!place) continue;
    EXPECT_EQ(*place, set.size());
    set += static_cast<char>(c);
  }
  EXPECT_EQ(set.size(), 82u);
  for (const char c : std::string_view(" #$@[\\]^`{|}~\x1D\x7F\xC3"))
    EXPECT_EQ(set.find(c), set.npos) << c;
}

}  // namespace
}  // namespace girdle::base
