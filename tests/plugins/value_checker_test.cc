#include "json/value_checker.h"

#include <gtest/gtest.h>

namespace girdle::json {
namespace {

bool is_json(std::string_view text) {
  ValueChecker checker(1 << 20);
  return !checker.check(text, text.data() + text.size()).fault;
}

TEST(ValueChecker, TakesNumbersThatFitNoMachine) {
  // RFC 8259, section 6: the grammar sets no limit to range or precision.
  for (const char* good : {"123456789012345678901234567890", "-1e999",
                           "{\"a\":[1e999,{\"b\":-0.0e-999}],\"c\":\"01\"}",
                           "[99999999999999999999,\"1e999 \\\" 01\"]"}) {
    EXPECT_TRUE(is_json(good)) << good;
  }
  for (const char* bad : {"01", "1.", ".5", "+1", "-", "1e", "1e+", "0x1", "1.5.2", "[1e999,01]",
                          "{\"a\":1e999,}", "[1e999", "1e999x", "--1"}) {
    EXPECT_FALSE(is_json(bad)) << bad;
  }
}

TEST(ValueChecker, PutsZeroForNumbersOutsideStringsOnly) {
  EXPECT_EQ(with_small_numbers("{\"a1\":12,\"b\":\"3\\\"4\",\"c\":[-5e9,01,x6]}"),
            "{\"a1\":0,\"b\":\"3\\\"4\",\"c\":[0,01,x0]}");
}

TEST(ValueChecker, GivesTheCharactersOfAString) {
  ValueChecker checker(1 << 20);
  const std::string_view text = "\"\\u0061b\"";
  ASSERT_FALSE(checker.check(text, text.data() + text.size()).fault);
  EXPECT_EQ(checker.string(), "ab");
  ASSERT_FALSE(checker.check("12", nullptr).fault);
  EXPECT_FALSE(checker.string());
}

TEST(ValueChecker, NamesTheKindOfFault) {
  ValueChecker checker(1 << 20);
  const auto fault = [&](std::string_view text) {
    return std::string(checker.check(text, text.data() + text.size()).fault.value_or("none"));
  };
  EXPECT_NE(fault("\"\xFF\"").find("UTF-8"), std::string::npos);
  EXPECT_NE(fault("\"\\q\"").find("escape"), std::string::npos);
  EXPECT_NE(fault("\"a\nb\"").find("control character"), std::string::npos);
  EXPECT_NE(fault("\"a").find("never closed"), std::string::npos);
  EXPECT_NE(fault("01").find("number"), std::string::npos);
  EXPECT_NE(fault("{\"a\" 1}").find("colon"), std::string::npos);
  EXPECT_NE(fault(std::string(2000, '[') + "1" + std::string(2000, ']')).find("deep"),
            std::string::npos);
}

}  // namespace
}  // namespace girdle::json
