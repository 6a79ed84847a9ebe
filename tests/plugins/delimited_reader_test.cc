#include "delimited/delimited_reader.h"

#include <gmock/gmock.h>

#include "plugins/test_host.h"

namespace girdle::delimited {
namespace {

using plugins_test::Heard;
using plugins_test::Options;
using plugins_test::read;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

TEST(DelimitedReader, SaysWhichBytesAndLineARecordCameFrom) {
  const std::string text =
      "\xEF\xBB\xBF"
      "a,b\r\n1,\"x\ny\"\r\n\r\n2,z";
  const Heard heard = read(descriptor(), {text});
  ASSERT_EQ(heard.records.size(), 2u);
  EXPECT_EQ(text.substr(heard.records[0].offset, heard.records[0].length), "1,\"x\ny\"");
  EXPECT_EQ(heard.records[0].line, 2u);
  EXPECT_EQ(text.substr(heard.records[1].offset, heard.records[1].length), "2,z");
  EXPECT_EQ(heard.records[1].line, 5u);
  EXPECT_EQ(heard.records[0].layout, heard.records[1].layout);
  EXPECT_NE(heard.records[0].layout, 0u);
}

TEST(DelimitedReader, TellsPlacesInBytesOfUtf16) {
  std::string text = "\xFF\xFE";
  for (const char c : std::string_view("a,b\n1,2\n3,4\n")) text += {c, '\0'};
  const Heard heard = read(descriptor(), {text}, {{"encoding", "utf-16"}});
  ASSERT_EQ(heard.records.size(), 2u);
  EXPECT_EQ(heard.records[1].offset, 18u);
  EXPECT_EQ(heard.records[1].length, 6u);
}

TEST(DelimitedReader, KeepsBackALastLineThatMayStillGrow) {
  const Heard heard = read(descriptor(), {"a,b\n1,2\n3,"}, {}, false);
  EXPECT_EQ(heard.records.size(), 1u);
  EXPECT_EQ(heard.consumed, 8u);
  const Heard next = read(descriptor(), {"3,4\n"}, {}, false, {}, heard.state);
  ASSERT_EQ(next.records.size(), 1u);
  EXPECT_THAT(next.records[0].fields, ElementsAre(std::pair("a", "3"), std::pair("b", "4")));
  EXPECT_EQ(next.records[0].offset, 0u);
  EXPECT_EQ(next.records[0].line, 3u);
}

TEST(DelimitedReader, SaysAtOnceThatTheHeaderOfAGrowingDocumentIsBad) {
  const Heard heard = read(descriptor(), {"a,a\n1,2\n"}, {}, false);
  ASSERT_EQ(heard.asides.size(), 1u);
  EXPECT_THAT(heard.asides[0].reason, HasSubstr("two columns are named"));
  const Heard next = read(descriptor(), {"1,2\n3,4\n"}, {}, true, {}, heard.state);
  EXPECT_THAT(next.records, IsEmpty());
  ASSERT_EQ(next.asides.size(), 1u);
  EXPECT_EQ(next.asides[0].length, 8u);
}

TEST(DelimitedReader, SetsARowOverTheLimitAsideInPiecesAndGoesOn) {
  const std::string row(150, 'x');
  const std::string text = "a\n" + row + "\n1\n";
  const Heard heard = read(descriptor(), {text}, {}, true, {64, 10});
  ASSERT_EQ(heard.asides.size(), 3u);
  EXPECT_EQ(heard.asides[0].offset, 2u);
  EXPECT_EQ(heard.asides[0].length, 64u);
  EXPECT_EQ(heard.asides[2].length, 22u);
  EXPECT_THAT(heard.asides[2].reason, HasSubstr("longer than 64 bytes"));
  ASSERT_EQ(heard.records.size(), 1u);
  EXPECT_EQ(heard.records[0].line, 3u);
  EXPECT_EQ(
      read(descriptor(), {"a\n" + row.substr(0, 64) + "\n"}, {}, true, {64, 10}).records.size(),
      1u);
}

TEST(DelimitedReader, AnUnclosedQuoteDoesNotHoldUpAGrowingDocument) {
  const std::string text = "a\n\"" + std::string(1000, '\n');
  const Heard heard = read(descriptor(), {text}, {}, false, {64, 10});
  EXPECT_GT(heard.consumed, text.size() - 128);
  EXPECT_EQ(heard.asides.size(), 15u);
}

TEST(DelimitedReader, SetsARowWithTooManyFieldsAside) {
  const Heard heard = read(descriptor(), {"1,2\n1,2,3\n1,2\n"}, {{"header", "no"}}, true, {64, 2});
  EXPECT_EQ(heard.records.size(), 2u);
  ASSERT_EQ(heard.asides.size(), 1u);
  EXPECT_EQ(heard.asides[0].reason, "3 fields in one row; at most 2 are read");
}

TEST(DelimitedReader, RefusesOptionsThatDoNotGoTogether) {
  const std::pair<Options, const char*> bad[] = {
      {{{"delimiter", "none"}}, "delimiter"},
      {{{"delimiter", "\xC2\xA7"}}, "delimiter"},
      {{{"delimiter", "\n"}}, "delimiter"},
      {{{"delimiter", "\""}}, "three different"},
      {{{"comment", "\""}}, "three different"},
      {{{"comment", ","}}, "three different"},
      {{{"columns", "a,b"}}, "columns"},
      {{{"header", "no"}, {"columns", "a,b,a"}}, "columns: \"a\""},
      {{{"encoding", "latin"}}, "encoding"},
      {{{"header", "false"}}, "header"},
  };
  for (const auto& [options, reason] : bad) {
    EXPECT_THAT(read(descriptor(), {"a\n1\n"}, options).refusal, HasSubstr(reason));
  }
  EXPECT_EQ(read(descriptor(), {}, {{"quote", "none"}, {"comment", "none"}}).refusal, "");
}

}  // namespace
}  // namespace girdle::delimited
