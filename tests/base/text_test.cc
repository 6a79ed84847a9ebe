#include "base/text.h"

#include <gtest/gtest.h>

#include <vector>

namespace girdle::base {
namespace {

TEST(Trimmed, TakesWhiteSpaceFromBothEndsOnly) {
  EXPECT_EQ(trimmed(" \t a b \r\n"), "a b");
  EXPECT_EQ(trimmed(" \t\r\n"), "");
  EXPECT_EQ(trimmed(""), "");
  EXPECT_EQ(trimmed("\xC2\xA0x"), "\xC2\xA0x");  // a no-break space is text
}

// The Unicode Standard, table 3-7 (well-formed UTF-8 byte sequences; the same as RFC 3629 section
// 4): each row's first and last sequence, and the nearest ones outside of it.
TEST(IsUtf8, TakesTheRowsOfTheStandardsTable) {
  for (const char* text :
       {"\x01", "\x7F", "\xC2\x80", "\xDF\xBF", "\xE0\xA0\x80", "\xE0\xBF\xBF", "\xE1\x80\x80",
        "\xEC\xBF\xBF", "\xED\x80\x80", "\xED\x9F\xBF", "\xEE\x80\x80", "\xEF\xBF\xBF",
        "\xF0\x90\x80\x80", "\xF0\xBF\xBF\xBF", "\xF1\x80\x80\x80", "\xF3\xBF\xBF\xBF",
        "\xF4\x80\x80\x80", "\xF4\x8F\xBF\xBF"}) {
    EXPECT_TRUE(is_utf8(text)) << excerpt(text);
    EXPECT_TRUE(is_utf8(std::string("1234567") + text + "12345678")) << excerpt(text);
  }
  EXPECT_TRUE(is_utf8(std::string_view("\0", 1)));
  EXPECT_TRUE(is_utf8(""));
}

TEST(IsUtf8, RefusesWhatLiesOutsideOfTheRows) {
  for (const char* text : {"\x80",
                           "\xBF",  // a continuation by itself
                           "\xC0\x80",
                           "\xC1\xBF",  // overlong
                           "\xE0\x80\x80",
                           "\xE0\x9F\xBF",
                           "\xF0\x80\x80\x80",
                           "\xF0\x8F\xBF\xBF",
                           "\xED\xA0\x80",
                           "\xED\xBF\xBF",  // surrogates
                           "\xF4\x90\x80\x80",
                           "\xF5\x80\x80\x80",
                           "\xFF",
                           "\xFE",  // above U+10FFFF
                           "\xC2",
                           "\xE1\x80",
                           "\xF1\x80\x80",  // cut off
                           "\xC2\x41",
                           "\xE1\x80\x41",
                           "\xE1\x41\x80",
                           "\xC2\xC2\x80"}) {
    EXPECT_FALSE(is_utf8(text)) << excerpt(text);
    EXPECT_FALSE(is_utf8(std::string("12345678") + text)) << excerpt(text);
    EXPECT_FALSE(is_utf8(std::string(text) + "12345678")) << excerpt(text);
  }
}

// Every code point, encoded after RFC 3629 section 3.
TEST(IsUtf8, TakesEveryCodePointButSurrogates) {
  for (uint32_t c = 0x80; c <= 0x10FFFF; ++c) {
    std::string text;
    const auto add = [&text](uint32_t byte) { text += static_cast<char>(byte); };
    if (c < 0x800) {
      add(0xC0 | c >> 6);
    } else if (c < 0x10000) {
      add(0xE0 | c >> 12);
      add(0x80 | (c >> 6 & 0x3F));
    } else {
      add(0xF0 | c >> 18);
      add(0x80 | (c >> 12 & 0x3F));
      add(0x80 | (c >> 6 & 0x3F));
    }
    add(0x80 | (c & 0x3F));
    ASSERT_EQ(is_utf8(text), c < 0xD800 || c > 0xDFFF) << c;
  }
}

TEST(Nearest, FindsTheWordThatWasMeant) {
  constexpr std::string_view kWords[] = {"delimiter", "encoding", "header", "quote"};
  EXPECT_EQ(nearest("delimeter", kWords), "delimiter");
  EXPECT_EQ(nearest("quot", kWords), "quote");
  EXPECT_EQ(nearest("heaader", kWords), "header");
  EXPECT_EQ(nearest("temperature", kWords), "");
  EXPECT_EQ(nearest("", kWords), "");
  EXPECT_EQ(nearest("x", {}), "");
}

TEST(Excerpt, ShowsUnprintableBytesAndCutsWithoutBreakingACharacter) {
  EXPECT_EQ(excerpt("R1042"), "R1042");
  EXPECT_EQ(excerpt("a\x01\x7F\n"), "a\\x01\\x7f\\x0a");
  EXPECT_EQ(excerpt("caf\xE9"), "caf\\xe9");         // windows-1252
  EXPECT_EQ(excerpt("caf\xC3\xA9"), "caf\xC3\xA9");  // UTF-8
  EXPECT_EQ(excerpt("abcdef", 3), "abc…");
  EXPECT_EQ(excerpt("abc", 3), "abc");
  EXPECT_EQ(excerpt("ab\xC3\xA9"
                    "d",
                    3),
            "ab\xC3\xA9…");
}

TEST(Listed, ReadsAsASentenceDoes) {
  constexpr std::string_view kWords[] = {"a", "b", "c"};
  EXPECT_EQ(listed(kWords), "a, b and c");
  EXPECT_EQ(listed(kWords, "or"), "a, b or c");
  EXPECT_EQ(listed(std::span(kWords).first(2)), "a and b");
  EXPECT_EQ(listed(std::span(kWords).first(1)), "a");
  EXPECT_EQ(listed({}), "");
}

}  // namespace
}  // namespace girdle::base
