#include "columns/text_lines.h"

#include <gmock/gmock.h>

namespace girdle::columns {
namespace {

using testing::ElementsAre;

// A host that hears nothing: lines go to the taker.
girdle_status hear_aside(const girdle_reader_host*, const girdle_aside*) { return GIRDLE_OK; }
girdle_reader_host quiet_host() {
  girdle_reader_host host = {};
  host.size = sizeof host;
  host.aside = hear_aside;
  return host;
}

class Told final : public LineTaker {
 public:
  void take_line(const TextLine& line) override {
    all.push_back(std::to_string(line.number) + ':' + std::string(line.text) +
                  (line.fault.empty() ? "" : "!") + (line.ends_page ? "^" : ""));
  }
  void take_piece(const LinePiece& piece) override {
    all.push_back(std::to_string(piece.number) + "+" + std::to_string(piece.length));
  }
  void end_long_line(bool ends_page) override { all.push_back(ends_page ? "end^" : "end"); }
  std::vector<std::string> all;
};

std::vector<std::string> lines(std::string_view bytes, Encoding encoding = Encoding::kUtf8) {
  const girdle_reader_host host = quiet_host();
  kit::Output out(host, 64);
  Told told;
  TextLines lines(out, told, {encoding, {}});
  lines.feed(bytes);
  lines.finish();
  EXPECT_EQ(lines.begin(), bytes.size());
  return told.all;
}

TEST(TextLines, EndAtLineFeedsReturnsBothAndFormFeeds) {
  EXPECT_THAT(lines("a\nb\r\nc\rd\fe"), ElementsAre("1:a", "2:b", "3:c", "4:d^", "4:e"));
  EXPECT_THAT(lines("\n\r\r\n\n"), ElementsAre("1:", "2:", "3:", "4:"));
  EXPECT_THAT(lines(""), ElementsAre());
  EXPECT_THAT(lines("long enough for eight bytes\nat a time\r"),
              ElementsAre("1:long enough for eight bytes", "2:at a time"));
}

// WHATWG Encoding Standard, index-windows-1252.txt: 0x80 is U+20AC.
TEST(TextLines, AreDecodedStrictly) {
  EXPECT_THAT(lines("\x80\n", Encoding::kWindows1252), ElementsAre("1:\xE2\x82\xAC"));
  EXPECT_THAT(lines("a\n\x80\nb\n"), ElementsAre("1:a", "2:!", "3:b"));
  EXPECT_THAT(lines(std::string_view("\xFF\xFE\x61\0\x0A\0\x62", 7)), ElementsAre("1:a", "2:!"));
}

class Widened final : public LineTaker {
 public:
  void take_line(const TextLine& line) override {
    for (size_t i = 0; i < line.text.size(); i += character_size(line.text.substr(i)))
      widths.push_back(line.bytes.at(line.text, i));
  }
  void take_piece(const LinePiece&) override {}
  void end_long_line(bool) override {}
  std::vector<uint64_t> widths;
};

std::vector<uint64_t> widths(std::string_view bytes, const TextEncoding& encoding) {
  const girdle_reader_host host = quiet_host();
  kit::Output out(host, 64);
  Widened widened;
  TextLines lines(out, widened, encoding, true);
  for (const char& byte : bytes) lines.feed({&byte, 1});
  lines.finish();
  return widened.widths;
}

// The bytes are those of Python's codecs for "a指ﾀ" and "a指💎".
TEST(TextLines, SayHowManyBytesEachCharacterHad) {
  const auto page = [](const char* name) {
    return TextEncoding{Encoding::kCodePage, delimited::CodePage::named(name)};
  };
  EXPECT_THAT(widths("a\x8E\x77\xC0", page("shift_jis")), ElementsAre(1, 2, 1));
  EXPECT_THAT(widths("a\xD6\xB8\x94\x39\xD7\x36\nb", page("gb18030")), ElementsAre(1, 2, 4, 1));
  EXPECT_THAT(
      widths(std::string_view("\xFE\xFF\0a\x63\x07\xD8\x3D\xDC\x8E", 10), {Encoding::kUtf16, {}}),
      ElementsAre(2, 2, 4));
  EXPECT_THAT(widths("a\xE6\x8C\x87", {}), ElementsAre(1, 3));
  EXPECT_THAT(widths("a\x80", {Encoding::kWindows1252, {}}), ElementsAre(1, 1));
  EXPECT_THAT(widths("a\x80", page("ibm437")), ElementsAre(1, 1));
}

TEST(TextLines, ComeInPiecesWhereTheyAreLongerThanTheLimit) {
  const std::string long_line(130, 'x');
  EXPECT_THAT(lines("a\n" + long_line + "\fb"),
              ElementsAre("1:a", "2+64", "2+64", "2+2", "end^", "2:b"));
  EXPECT_THAT(lines(std::string(128, 'x') + "\n"), ElementsAre("1+64", "1+64", "end"));
  EXPECT_THAT(lines(std::string(64, 'x')), ElementsAre("1:" + std::string(64, 'x')));
}

TEST(TextLines, TellControlCharactersButTabs) {
  EXPECT_FALSE(control_fault("a\tb\xC3\xA9"));
  EXPECT_THAT(control_fault("a\x1B").value_or(""), testing::HasSubstr("(1B)"));
  EXPECT_THAT(control_fault("\x7F").value_or(""), testing::HasSubstr("(7F)"));
}

TEST(TextLines, AreQuotedUpToAnEndBetweenCharacters) {
  EXPECT_EQ(excerpt("short"), "\"short\"");
  EXPECT_EQ(excerpt(std::string(39, 'x') + "\xC3\xA9"), '"' + std::string(39, 'x') + "…\"");
}

}  // namespace
}  // namespace girdle::columns
