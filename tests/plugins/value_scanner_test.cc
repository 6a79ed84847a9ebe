#include "json/value_scanner.h"

#include <gtest/gtest.h>

#include <string>
#include <string_view>

namespace girdle::json {
namespace {

// The length of the first value; -1 where it does not end.
int length_of(std::string_view text, size_t piece = 1000) {
  ValueScanner scanner;
  scanner.begin(text[0]);
  size_t used = 0;
  while (used < text.size()) {
    const std::string_view next = text.substr(used, piece);
    used += scanner.advance(next.data(), next.size());
    if (scanner.ended()) return static_cast<int>(used);
  }
  return -1;
}

TEST(ValueScanner, FindsTheEndOfEveryKindOfValue) {
  const std::string text(100, 'x');
  const std::pair<std::string, std::string> values[] = {
      {"12.5e3", ","},
      {"true", "]"},
      {"null", " "},
      {"\"a\"", ""},
      {"\"a\\\"b\"", "x"},
      {"\"\\\\\"", "\""},
      {"{}", "}"},
      {"[[],{\"]\":1}]", "]"},
      {"{\"a\":\"" + text + "}\\\"{\"}", ","},
      {"[\"\\\\\",\"[\"]", ""},
      {"\"" + text + "\"", ":"},
  };
  for (const auto& [value, after] : values) {
    for (const size_t piece : {1, 2, 3, 64, 1000}) {
      const bool open = after.empty() && value[0] != '"' && value[0] != '[' && value[0] != '{';
      EXPECT_EQ(length_of(value + after, piece), open ? -1 : static_cast<int>(value.size()))
          << value;
    }
  }
}

TEST(ValueScanner, SaysWhereAValueDoesNotEnd) {
  for (const char* text : {"12", "\"a", "\"a\\\"", "{\"a\":1", "[[]", "{\"}"})
    EXPECT_EQ(length_of(text), -1) << text;
}

TEST(ValueScanner, GoesOnElsewhereFromItsPlace) {
  const std::string value = "{\"a\\\\\":[\"}\\\"\",{}],\"b\":2}";
  for (size_t cut = 1; cut < value.size(); ++cut) {
    ValueScanner first;
    first.begin(value[0]);
    EXPECT_EQ(first.advance(value.data(), cut), cut);
    ValueScanner second;
    second.take_up(first.place());
    EXPECT_EQ(second.advance(value.data() + cut, value.size() - cut), value.size() - cut);
    EXPECT_TRUE(second.ended()) << cut;
  }
}

}  // namespace
}  // namespace girdle::json
