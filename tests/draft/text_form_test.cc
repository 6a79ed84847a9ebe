#include "draft/text_form.h"

#include <gtest/gtest.h>

namespace girdle::draft {
namespace {

using namespace std::string_literals;

TextForm form_of(const std::string& bytes) { return look_at_text(bytes).form; }

// Byte order marks: Unicode 15, 23.8 and table 2-4; that of GB 18030 is U+FEFF in it.
TEST(TextForm, IsToldByAByteOrderMark) {
  EXPECT_EQ(form_of("\xEF\xBB\xBF"
                    "a"),
            TextForm::kUtf8Marked);
  EXPECT_EQ(form_of("\xFF\xFE"
                    "a\0"s),
            TextForm::kUtf16Marked);
  EXPECT_EQ(form_of("\xFE\xFF\0a"s), TextForm::kUtf16Marked);
  EXPECT_EQ(form_of("\x84\x31\x95\x33\xBB\xF5"), TextForm::kGb18030Marked);
  EXPECT_EQ(form_of("\xFF\xFE\0\0a\0\0\0"s), TextForm::kBinary);  // UTF-32, which no reader has
}

TEST(TextForm, IsUtf16WhereEveryOtherByteIsZero) {
  EXPECT_EQ(form_of("n\0o\0,\0A\0"s), TextForm::kUtf16Le);
  EXPECT_EQ(form_of("\0n\0o\0,\0A"s), TextForm::kUtf16Be);
  EXPECT_EQ(form_of("no\0A"s), TextForm::kBinary);
}

TEST(TextForm, IsUtf8WhereItIsWellFormedAndSaysHowMuchLiesBeyondAscii) {
  const TextLook look = look_at_text(
      "Gr\xC3\xB6\xC3\x9F"
      "e");
  EXPECT_EQ(look.form, TextForm::kUtf8);
  EXPECT_EQ(look.beyond_ascii, 2u);
  EXPECT_EQ(form_of("plain"), TextForm::kAscii);
}

TEST(TextForm, IsLeftOpenWhereItMayBeAnySingleByteEncoding) {
  EXPECT_EQ(form_of("Gr\xF6\xDF"
                    "e"),
            TextForm::kUndecided);
  EXPECT_EQ(encoding_option(TextForm::kUndecided), "");
}

TEST(TextForm, IsNoTextWithTheControlCharactersOfAnArchive) {
  EXPECT_EQ(form_of("PK\x03\x04\x14\0\x06\0"s), TextForm::kBinary);
}

TEST(TextForm, IsThatOfAllSamplesTogether) {
  EXPECT_EQ(look_at_text(Samples{{"a", "plain"}, {"b", "\xC3\xB6"}}).form, TextForm::kUtf8);
  EXPECT_EQ(look_at_text(Samples{{"a", "\xC3\xB6"}, {"b", "\xF6 "}}).form, TextForm::kUndecided);
  EXPECT_EQ(look_at_text(Samples{{"a", "\xEF\xBB\xBFx"}, {"b", "\xC3\xB6"}}).form, TextForm::kUtf8);
}

// RFC 2781, 2.1: U+12345 is D808 DF45.
TEST(PlainText, IsUtf8OfUtf16) {
  EXPECT_EQ(plain_text("\xFE\xFF\xD8\x08\xDF\x45\0a"s, TextForm::kUtf16Marked),
            "\xF0\x92\x8D\x85"
            "a");
  EXPECT_EQ(plain_text("a\0\x08\xD8"s, TextForm::kUtf16Le), "a");  // half a character is left out
}

TEST(PlainText, LeavesTheMarkOut) {
  EXPECT_EQ(plain_text("\xEF\xBB\xBFno", TextForm::kUtf8Marked), "no");
}

}  // namespace
}  // namespace girdle::draft
