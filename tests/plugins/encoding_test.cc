#include "delimited/encoding.h"

#include <gtest/gtest.h>

#include "plugins/by_iconv.h"

namespace girdle::delimited {
namespace {

using std::string_literals::operator""s;

std::string decoded(std::string_view text, Encoding encoding) {
  std::string out;
  append_decoded(text, encoding, out);
  return out;
}

TEST(Encoding, SingleBytesAreThoseOfTheCLibrary) {
  const std::pair<const char*, Encoding> pages[] = {{"CP1252", Encoding::kWindows1252},
                                                    {"CP1251", Encoding::kWindows1251}};
  for (const auto& [name, encoding] : pages) {
    int without = 0;
    for (int byte = 0; byte < 256; ++byte) {
      const std::string text(1, static_cast<char>(byte));
      const auto reference = plugins_test::by_iconv(name, text);
      EXPECT_EQ(can_decode(text, upper_half(encoding)), reference.has_value())
          << name << " " << byte;
      if (reference) {
        EXPECT_EQ(decoded(text, encoding), *reference) << name << " " << byte;
      }
      without += !reference;
    }
    // Unicode's CP1252.TXT leaves 81, 8D, 8F, 90 and 9D undefined, CP1251.TXT 98.
    EXPECT_EQ(without, encoding == Encoding::kWindows1252 ? 5 : 1);
  }
}

TEST(Encoding, SamplesAreThoseOfOtherLibraries) {
  // Made with Python 3.11's codecs.
  EXPECT_EQ(decoded("Gr\xF6\xDF"
                    "e 1,25 ct \x96 \x80",
                    Encoding::kWindows1252),
            "Größe 1,25 ct – €");
  EXPECT_EQ(decoded("\x88", Encoding::kWindows1251), "€");
}

TEST(Encoding, ByteOrderMarksAreThoseOfWhatwg) {
  // WHATWG Encoding Standard, BOM sniff; UTF-32's are Unicode's (chapter 23.8).
  EXPECT_EQ(byte_order_mark("\xEF\xBB\xBFx", false).encoding, Encoding::kUtf8);
  EXPECT_EQ(byte_order_mark("\xEF\xBB\xBFx", false).size, 3u);
  EXPECT_EQ(byte_order_mark("\xFE\xFF\0x"s, false).encoding, Encoding::kUtf16Be);
  EXPECT_EQ(byte_order_mark("\xFF\xFEx\0"s, false).encoding, Encoding::kUtf16Le);
  EXPECT_EQ(byte_order_mark("\xFF\xFE\0\0"s, false).encoding, Encoding::kUtf32);
  EXPECT_EQ(byte_order_mark("\0\0\xFE\xFF"s, false).encoding, Encoding::kUtf32);
  EXPECT_EQ(byte_order_mark("abcd", false).size, 0u);
}

TEST(Encoding, AMarkThatMayStillComeIsWaitedFor) {
  for (const std::string& head :
       {""s, "\xEF"s, "\xEF\xBB"s, "\xFF"s, "\xFF\xFE"s, "\xFF\xFE\0"s, "\xFE"s, "\0"s}) {
    EXPECT_FALSE(byte_order_mark(head, false).known) << head.size();
    EXPECT_TRUE(byte_order_mark(head, true).known);
  }
  EXPECT_EQ(byte_order_mark("\xFF\xFE", true).encoding, Encoding::kUtf16Le);
  EXPECT_TRUE(byte_order_mark("a", false).known);
}

TEST(Encoding, Utf8IsStrict) {
  // RFC 3629, section 4 (the ABNF's edges) and section 10 (overlong forms, surrogates).
  for (const char* good :
       {"", "a", "\xC2\x80", "\xDF\xBF", "\xE0\xA0\x80", "\xED\x9F\xBF", "\xEE\x80\x80",
        "\xF0\x90\x80\x80", "\xF4\x8F\xBF\xBF", "aaaaaaaaa\xC3\xA9 bbbbbbbb"}) {
    EXPECT_TRUE(is_utf8(good)) << good;
  }
  for (const char* bad :
       {"\x80", "\xC0\x80", "\xC1\xBF", "\xC2", "\xC2x", "\xE0\x9F\xBF", "\xED\xA0\x80", "\xE2\x82",
        "\xF0\x8F\xBF\xBF", "\xF4\x90\x80\x80", "\xF5\x80\x80\x80", "\xFF", "aaaaaaaaa\xC3"}) {
    EXPECT_FALSE(is_utf8(bad)) << bad;
  }
}

TEST(Encoding, Utf16IsDecodedAcrossFeeds) {
  // RFC 2781, section 5: U+12345 "=Ra", with both orders of bytes.
  const std::string big = "\xD8\x08\xDF\x45\0=\0R\0a"s;
  const std::string little = "\x08\xD8\x45\xDF=\0R\0a\0"s;
  for (const auto& [bytes, big_endian] : {std::pair(big, true), std::pair(little, false)}) {
    for (size_t cut = 0; cut <= bytes.size(); ++cut) {
      Utf16Decoder decoder(big_endian);
      std::string out;
      decoder.decode(std::string_view(bytes).substr(0, cut), out);
      decoder.decode(std::string_view(bytes).substr(cut), out);
      decoder.finish(out);
      EXPECT_EQ(out, "\xF0\x92\x8D\x85=Ra");
      EXPECT_EQ(utf16_bytes(out), bytes.size());
    }
  }
}

TEST(Encoding, ALoneSurrogateComesOutAsWhatUtf8Refuses) {
  for (const std::string& bytes :
       {"\x3D\xD8x\0"s, "\x00\xDCx\0"s, "\x3D\xD8"s, "x\0y"s, "\x3D\xD8\x3D\xD8\x8E\xDC"s}) {
    Utf16Decoder decoder(false);
    std::string out;
    decoder.decode(bytes, out);
    decoder.finish(out);
    EXPECT_FALSE(is_utf8(out));
    EXPECT_EQ(utf16_bytes(out), (bytes.size() + 1) / 2 * 2);
  }
}

}  // namespace
}  // namespace girdle::delimited
