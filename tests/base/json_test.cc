#include "base/json.h"

#include <gtest/gtest.h>
#include <simdjson.h>

#include <limits>

#include "base/text.h"

namespace girdle::base {
namespace {

// What another library reads back from the text that we wrote.
std::string read_back(const std::string& json) {
  simdjson::dom::parser parser;
  std::string_view text;
  const auto failed = parser.parse(json).at(0).get(text);
  EXPECT_EQ(failed, simdjson::SUCCESS) << json;
  return std::string(text);
}

std::string written(std::string_view text) {
  std::string out;
  JsonWriter(out).begin_array().text(text).end_array();
  return out;
}

TEST(JsonWriter, PutsCommasAndKeepsTheOrderOfMembers) {
  std::string out;
  JsonWriter json(out);
  json.begin_object();
  json.member("b", "x").member("a", int64_t{1}).member("t", true);
  json.key("list")
      .begin_array()
      .number(-1)
      .null()
      .begin_object()
      .end_object()
      .begin_array()
      .end_array()
      .end_array();
  json.member_or_null("empty", "").member_or_null("full", "y").key("raw").raw("0.50");
  json.end_object();
  EXPECT_EQ(
      out, R"({"b":"x","a":1,"t":true,"list":[-1,null,{},[]],"empty":null,"full":"y","raw":0.50})");
}

TEST(JsonWriter, AppendsToWhatIsThere) {
  std::string out = "data: ";
  JsonWriter(out).begin_object().end_object();
  EXPECT_EQ(out, "data: {}");
}

// RFC 8259 section 7: these must be escaped; the short forms and \u00XX are among the allowed.
TEST(JsonWriter, EscapesWhatMustBeEscaped) {
  EXPECT_EQ(written("a\"b\\c/d"), R"(["a\"b\\c/d"])");
  EXPECT_EQ(written("\n\r\t\b\f\x1f"), R"(["\n\r\t\u0008\u000c\u001f"])");
  EXPECT_EQ(written(std::string_view("\0", 1)), R"(["\u0000"])");
  EXPECT_EQ(written("\x7F"), "[\"\x7F\"]");
  for (int c = 0; c < 0x80; ++c) {
    const std::string text(1, static_cast<char>(c));
    EXPECT_EQ(read_back(written(text)), text) << c;
  }
}

TEST(JsonWriter, LeavesUtf8AsItIs) {
  const std::string text = "Diamant \xC3\xA9\xE2\x82\xAC\xF0\x9F\x92\x8E";
  EXPECT_EQ(written(text), "[\"" + text + "\"]");
  EXPECT_EQ(read_back(written(text)), text);
}

TEST(JsonWriter, IsValidJsonWhateverTheBytes) {
  uint32_t state = 1;
  for (int round = 0; round < 2000; ++round) {
    std::string bytes;
    for (int i = 0; i < 24; ++i) {
      state = state * 1664525 + 1013904223;
      bytes += static_cast<char>(state >> 24);
    }
    const std::string text = read_back(written(bytes));
    EXPECT_TRUE(is_utf8(text));
    if (is_utf8(bytes)) {
      EXPECT_EQ(text, bytes);
    }
  }
  EXPECT_EQ(written("a\xFF"
                    "b"),
            "[\"a\xEF\xBF\xBD"
            "b\"]");
}

TEST(JsonWriter, WritesIntegersWhole) {
  std::string out;
  JsonWriter(out)
      .begin_array()
      .number(std::numeric_limits<int64_t>::min())
      .number(std::numeric_limits<int64_t>::max())
      .end_array();
  EXPECT_EQ(out, "[-9223372036854775808,9223372036854775807]");
}

}  // namespace
}  // namespace girdle::base
