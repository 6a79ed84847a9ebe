#include <girdle/kit/text.h>
#include <gtest/gtest.h>
#include <iconv.h>

#include <array>
#include <string>

namespace girdle::kit {
namespace {

// glibc's iconv, which takes no overlong forms, no surrogates and nothing above U+10FFFF. One
// converter for all, because opening one takes longer than all else.
class OutsideUtf8 {
 public:
  OutsideUtf8() : converter_(iconv_open("UTF-32LE", "UTF-8")) {}
  ~OutsideUtf8() { iconv_close(converter_); }

  bool takes(std::string text) {
    iconv(converter_, nullptr, nullptr, nullptr, nullptr);
    char* from = text.data();
    size_t left = text.size();
    std::array<char, 64> out;
    char* to = out.data();
    size_t room = out.size();
    return iconv(converter_, &from, &left, &to, &room) != static_cast<size_t>(-1) && left == 0;
  }

 private:
  iconv_t converter_;
};

std::string bytes(std::initializer_list<unsigned> values) {
  std::string text;
  for (const unsigned value : values) text += static_cast<char>(value);
  return text;
}

TEST(Utf8, IsWhatIconvTakesOfAllTextsOfOneAndTwoBytes) {
  OutsideUtf8 outside;
  for (unsigned a = 0; a < 256; ++a) {
    ASSERT_EQ(is_utf8(bytes({a})), outside.takes(bytes({a}))) << a;
    for (unsigned b = 0; b < 256; ++b)
      ASSERT_EQ(is_utf8(bytes({a, b})), outside.takes(bytes({a, b}))) << a << ' ' << b;
  }
}

TEST(Utf8, IsWhatIconvTakesOfLongerTexts) {
  OutsideUtf8 outside;
  const unsigned edges[] = {0x7F, 0x80, 0xBF, 0xC0};
  for (unsigned a = 0xC0; a < 256; ++a) {
    for (unsigned b = 0; b < 256; ++b) {
      for (const unsigned c : edges) {
        const std::string three = bytes({a, b, c});
        ASSERT_EQ(is_utf8(three), outside.takes(three)) << a << ' ' << b << ' ' << c;
        for (const unsigned d : edges) {
          const std::string four = bytes({a, b, c, d});
          ASSERT_EQ(is_utf8(four), outside.takes(four)) << a << ' ' << b << ' ' << c << ' ' << d;
        }
      }
    }
  }
}

// RFC 3629, section 3: the sizes.
TEST(Utf8, CharactersHaveTheirSizes) {
  EXPECT_EQ(utf8_character("a"), 1u);
  EXPECT_EQ(utf8_character("\xC3\xA9z"), 2u);
  EXPECT_EQ(utf8_character("\xE2\x82\xAC"), 3u);
  EXPECT_EQ(utf8_character("\xF0\x9F\x92\x8E"), 4u);
  EXPECT_EQ(utf8_character("\xA9"), 0u);
  EXPECT_EQ(utf8_character(""), 0u);
}

// The code points of controls, and U+2028 and U+2029: Unicode, general categories Cc, Zl and Zp.
TEST(Reason, IsOneLineOfUtf8AndShort) {
  EXPECT_TRUE(is_reason(""));
  EXPECT_TRUE(is_reason("the caf\xC3\xA9 has no column 7\xE2\x80\xA6"));
  for (const char* text :
       {"a\nb", "a\tb", "\x7F", "\xC2\x85", "\xE2\x80\xA8", "\xE2\x80\xA9", "\xE9"})
    EXPECT_FALSE(is_reason(text)) << in_quotes(text);
  EXPECT_TRUE(is_reason("\xC2\xA0"));
  EXPECT_TRUE(is_reason(std::string(kMostReason, 'x')));
  EXPECT_FALSE(is_reason(std::string(kMostReason + 1, 'x')));
}

// Our own form: common practice, no source.
TEST(InQuotes, StaysOnOneLineAndIsUtf8) {
  EXPECT_EQ(in_quotes("R1042"), "\"R1042\"");
  EXPECT_EQ(in_quotes(""), "\"\"");
  EXPECT_EQ(in_quotes("a\r\nb\t\x1B"), R"("a\x0d\x0ab\x09\x1b")");
  EXPECT_EQ(in_quotes("caf\xC3\xA9 \xE9"), "\"caf\xC3\xA9 \\xe9\"");
  EXPECT_EQ(in_quotes("\xC2\x85"), R"("\xc2\x85")");
  EXPECT_EQ(in_quotes("\xE2\x80\xA8"), R"("\xe2\x80\xa8")");
  EXPECT_EQ(in_quotes("0123456789", 4), "\"0123…\"");
  EXPECT_EQ(in_quotes("\xC3\xA9\xC3\xA9\xC3\xA9", 3), "\"\xC3\xA9\xC3\xA9…\"");
  for (unsigned a = 0; a < 256; ++a) {
    for (unsigned b = 0; b < 256; ++b) {
      const std::string text = in_quotes(bytes({a, b}));
      ASSERT_TRUE(is_utf8(text)) << a << ' ' << b;
      ASSERT_EQ(text.find_first_of("\r\n"), std::string::npos) << a << ' ' << b;
    }
  }
}

}  // namespace
}  // namespace girdle::kit
