// XML 1.0 (fifth edition), 2.8 and 4.3.3 and appendix F; RFC 3629 (UTF-8), RFC 2781 (UTF-16).
#include "xml/text_source.h"

#include <gmock/gmock.h>

namespace girdle::xml {
namespace {

using std::string_literals::operator""s;
using testing::HasSubstr;

std::string in_utf16(std::string_view ascii, bool big_endian) {
  std::string wide = big_endian ? "\xFE\xFF" : "\xFF\xFE";
  for (const char c : ascii) wide += big_endian ? std::string{'\0', c} : std::string{c, '\0'};
  return wide;
}

std::string declared(std::string_view encoding) {
  return "<?xml version=\"1.0\" encoding='" + std::string(encoding) + "'?>";
}

void expect_read(const std::string& head, size_t size, Encoding encoding) {
  const DocumentHead found = document_head(head + std::string(8, 'x'), false);
  EXPECT_TRUE(found.known) << head;
  EXPECT_EQ(found.fault, "") << head;
  EXPECT_EQ(found.size, size) << head;
  EXPECT_EQ(found.encoding, encoding) << head;
}

std::string fault(const std::string& head) {
  const DocumentHead found = document_head(head, true);
  EXPECT_TRUE(found.known) << head;
  return found.fault;
}

TEST(DocumentHead, SaysHowTheRestIsWritten) {
  expect_read("<export>", 0, Encoding::kUtf8);
  expect_read("\xEF\xBB\xBF<export>", 3, Encoding::kUtf8);
  expect_read("<?xml version='1.0'?>", 21, Encoding::kUtf8);
  expect_read("<?xml-stylesheet?>", 0, Encoding::kUtf8);
  expect_read(declared("utf-8"), declared("utf-8").size(), Encoding::kUtf8);
  expect_read("\xEF\xBB\xBF" + declared("UTF-8"), 3 + declared("UTF-8").size(), Encoding::kUtf8);
  expect_read(declared("ISO-8859-1"), declared("ISO-8859-1").size(), Encoding::kLatin1);
  expect_read(declared("us-ascii"), declared("us-ascii").size(), Encoding::kAscii);
  expect_read(in_utf16("<export>", false), 2, Encoding::kUtf16Le);
  const std::string wide = declared("UTF-16");
  expect_read(in_utf16(wide, true), 2 + 2 * wide.size(), Encoding::kUtf16Be);
  expect_read("<?xml\n version = \"1.0\" standalone='yes' ?>", 42, Encoding::kUtf8);
}

TEST(DocumentHead, TakesLaterVersionsOf1AsTheFirst) {
  expect_read("<?xml version='1.1'?>", 21, Encoding::kUtf8);
  EXPECT_THAT(fault("<?xml version='2.0'?><a/>"), HasSubstr("version"));
}

TEST(DocumentHead, RefusesEncodingsThatItCannotBeSureOf) {
  EXPECT_THAT(fault(declared("windows-1252")), HasSubstr("declares the encoding \"windows-1252\""));
  EXPECT_THAT(fault(declared("windows-1252")), HasSubstr("ISO-8859-1 and US-ASCII are read"));
  EXPECT_THAT(fault(declared("UTF-16")), HasSubstr("declares the encoding \"utf-16\""));
  EXPECT_THAT(fault("\xEF\xBB\xBF" + declared("iso-8859-1")), HasSubstr("contradicts"));
  EXPECT_THAT(fault(in_utf16(declared("utf-8"), false)), HasSubstr("contradicts"));
  EXPECT_THAT(fault(in_utf16(declared("utf-16be"), false)), HasSubstr("contradicts"));
  EXPECT_THAT(fault(in_utf16("<a/>", false).substr(2)), HasSubstr("without a byte order mark"));
  EXPECT_THAT(fault("\0\0\0<"s), HasSubstr("UTF-32"));
  EXPECT_THAT(fault("\xFF\xFE\0\0"s), HasSubstr("UTF-32"));
}

TEST(DocumentHead, RefusesADeclarationThatIsNotWellFormed) {
  for (const char* text :
       {"<?xml encoding='utf-8'?>", "<?xml version=1.0?>", "<?xml version='1.0' encoding?>",
        "<?xml version='1.0'encoding='utf-8'?>", "<?xml standalone='yes' version='1.0'?>",
        "<?xml version='1.0' standalone='yes' encoding='utf-8'?>", "<?xml version='1.'?>",
        "<?xml version='1.0' standalone='maybe'?>", "<?xml version='1.0' valid='no'?>",
        "<?xml version='1.0' version='1.0'?>", "<?xml version='1.0' /?>"})
    EXPECT_THAT(fault(text), HasSubstr("XML declaration")) << text;
  EXPECT_THAT(fault("<?xml version='1.0'"), HasSubstr("does not end"));
  EXPECT_THAT(fault("<?xml " + std::string(2000, ' ')), HasSubstr("does not end"));
}

TEST(DocumentHead, AsksForMoreBytesWhileTheyWouldTell) {
  for (const std::string& text : {declared("utf-8") + "<a/>", "\xEF\xBB\xBF<a/>"s,
                                  in_utf16(declared("utf-16") + "<a/>", false), "abcdefgh"s,
                                  in_utf16("<a/>", true).substr(2), "<?xmlns?> "s}) {
    const DocumentHead whole = document_head(text, true);
    for (size_t size = 0; size < text.size(); ++size) {
      const DocumentHead part = document_head(text.substr(0, size), false);
      if (!part.known) continue;
      EXPECT_EQ(part.fault, whole.fault) << text;
      EXPECT_EQ(part.size, whole.size) << text;
      EXPECT_EQ(part.encoding, whole.encoding) << text;
    }
  }
}

std::string text_of(Encoding encoding, std::string_view bytes) {
  TextSource source(encoding);
  std::string text;
  for (const char c : bytes) source.decode({&c, 1}, text);
  source.finish(text);
  return text;
}

TEST(TextSource, DecodesTheFourEncodings) {
  EXPECT_EQ(text_of(Encoding::kUtf8, "\xC3\xA9"), "\xC3\xA9");
  EXPECT_EQ(text_of(Encoding::kLatin1, "\xE9\x80"), "\xC3\xA9\xC2\x80");
  EXPECT_EQ(text_of(Encoding::kUtf16Le, "\xE9\0\x3D\xD8\x8E\xDC"s), "\xC3\xA9\xF0\x9F\x92\x8E");
  EXPECT_EQ(text_of(Encoding::kUtf16Be, "\0\xE9"s), "\xC3\xA9");
}

TEST(TextSource, TellsWhatIsNoCharacter) {
  EXPECT_EQ(character_fault("\xC3\xA9", Encoding::kUtf8), "");
  EXPECT_THAT(character_fault("\xE9", Encoding::kUtf8), HasSubstr("not UTF-8"));
  EXPECT_THAT(character_fault("\xC3\xA9", Encoding::kAscii), HasSubstr("US-ASCII"));
  EXPECT_THAT(character_fault(text_of(Encoding::kUtf16Le, "\x3D\xD8"), Encoding::kUtf16Le),
              HasSubstr("half a character"));
  EXPECT_THAT(character_fault("a\x01", Encoding::kUtf8), HasSubstr("control character"));
}

TEST(TextSource, CountsTheBytesThatTextCameFrom) {
  const std::string text = "a\xC3\xA9\xE2\x82\xAC\xF0\x9F\x92\x8E";
  EXPECT_EQ(source_bytes(text, Encoding::kUtf8), 10u);
  EXPECT_EQ(source_bytes(text, Encoding::kUtf16Le), 10u);
  EXPECT_EQ(source_bytes("a\xC3\xA9", Encoding::kLatin1), 2u);
  EXPECT_EQ(room(text, 5, Encoding::kUtf8), 5u);
  EXPECT_EQ(room(text, 5, Encoding::kUtf16Le), 3u);
  EXPECT_EQ(room(text, 9, Encoding::kUtf16Le), 6u);
  EXPECT_EQ(room(text, 10, Encoding::kUtf16Le), 10u);
  EXPECT_EQ(room("a\xC3\xA9\xC3\xA9", 2, Encoding::kLatin1), 3u);
}

}  // namespace
}  // namespace girdle::xml
