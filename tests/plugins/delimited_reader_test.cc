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

TEST(DelimitedReader, KeepsTheRulesOfRfc4180) {
  using Fields = std::vector<std::vector<std::string>>;
  struct {
    const char* rule;  // of section 2
    const char* document;
    Fields rows;
    Options options;
  } const rules[] = {
      {"1: rows end at CRLF",
       "aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n",
       {{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}},
       {}},
      {"2: the last may have no end",
       "aaa,bbb,ccc\r\nzzz,yyy,xxx",
       {{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}},
       {}},
      {"3: a header", "a,b,c\r\naaa,bbb,ccc\r\n", {{"aaa", "bbb", "ccc"}}, {{"header", "yes"}}},
      {"4: spaces are part of a field", "aaa, bbb ,ccc", {{"aaa", " bbb ", "ccc"}}, {}},
      {"5: quotes around a field or none",
       "\"aaa\",bbb\r\nzzz,\"yyy\"",
       {{"aaa", "bbb"}, {"zzz", "yyy"}},
       {}},
      {"6: line ends and commas in quotes",
       "\"aaa\",\"b\r\nb,b\"\r\nzzz,yyy",
       {{"aaa", "b\r\nb,b"}, {"zzz", "yyy"}},
       {}},
      {"7: two quotes for one", "\"aaa\",\"b\"\"bb\"", {{"aaa", "b\"bb"}}, {}},
  };
  for (const auto& [rule, document, rows, said] : rules) {
    Options options = said;
    options.emplace("header", "no");
    const Heard heard = read(descriptor(), {document}, options);
    EXPECT_THAT(heard.asides, IsEmpty()) << rule;
    Fields got;
    for (const plugins_test::Record& record : heard.records) {
      got.emplace_back();
      for (const auto& [name, value] : record.fields) got.back().push_back(value);
    }
    EXPECT_EQ(got, rows) << rule;
  }
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

TEST(DelimitedReader, HoldsBackWhatStandsBeforeAHeaderThatIsStillToBeFound) {
  const std::string text = "letterhead\nroom 2\nno,item\n1,R1\n";
  const Options options = {{"header_names", "item"}};
  for (size_t size = 0; size < 26; ++size) {
    const Heard heard = read(descriptor(), {text.substr(0, size)}, options, false);
    EXPECT_EQ(heard.consumed, 0u) << size;
    EXPECT_EQ(heard.text(), "") << size;
  }
  const Heard heard = read(descriptor(), {text.substr(0, 26)}, options, false);
  EXPECT_EQ(heard.consumed, 26u);
  const Heard next = read(descriptor(), {"1,R1\n"}, options, false, {}, heard.state);
  ASSERT_EQ(next.records.size(), 1u);
  EXPECT_EQ(next.records[0].line, 4u);
}

TEST(DelimitedReader, LooksForAHeaderNoFartherThanARecordMayBeLong) {
  const Options options = {{"header_names", "item"}};
  const std::string text = std::string(64, '\n') + "x\nno,item\n1,R1\n" + std::string(100, '\n');
  const Heard heard = read(descriptor(), {text}, options, false, {64, 10});
  EXPECT_THAT(heard.records, IsEmpty());
  ASSERT_EQ(heard.asides.size(), 2u) << heard.text();
  EXPECT_EQ(heard.asides[0].offset, 0u);
  EXPECT_EQ(heard.asides[0].length, 64u);
  EXPECT_THAT(heard.asides[0].reason, HasSubstr("the names item, within the first 64 bytes"));
  EXPECT_EQ(heard.consumed, 128u);
  const std::string near = std::string(63, '\n') + "no,item\n1,R1\n";
  EXPECT_EQ(read(descriptor(), {near}, options, true, {64, 10}).records.size(), 1u);
  const std::string in_one_line = std::string(65, 'x') + "\nno,item\n1,R1\n";
  EXPECT_THAT(read(descriptor(), {in_one_line}, options, true, {64, 10}).records, IsEmpty());
}

TEST(DelimitedReader, ReadsTheHeaderOfAGrowingDocumentOnce) {
  const std::string text = "sep=;\nshop\nno;item;item\n1;R1;x\n2;R2;y\n";
  const Options options = {{"header_line", "3"}, {"repeated", "number"}};
  const Heard whole = read(descriptor(), {text}, options);
  ASSERT_EQ(whole.records.size(), 2u);
  EXPECT_THAT(whole.records[1].fields, ElementsAre(std::pair("no", "2"), std::pair("item", "R2"),
                                                   std::pair("item[2]", "y")));
  std::vector<size_t> everywhere;
  for (size_t i = 1; i <= text.size(); ++i) everywhere.push_back(i);
  EXPECT_EQ(plugins_test::read_growing(descriptor(), text, everywhere, options).text(),
            whole.text());
}

TEST(DelimitedReader, RefusesAStateOfOtherOptions) {
  const Options options = {{"encoding", "gb18030"}, {"header_names", "b"}, {"ignore", "-+"}};
  const std::string state = read(descriptor(), {"a,b\n1,2\n"}, options, false).state;
  EXPECT_EQ(read(descriptor(), {"3,4\n"}, options, true, {}, state).records.size(), 1u);
  for (const auto& [name, value] : Options{{"encoding", "gbk"},
                                           {"header_names", "a"},
                                           {"ignore", "=+"},
                                           {"escape", "\\"},
                                           {"short", "pad"},
                                           {"repeated", "number"}}) {
    Options other = options;
    other[name] = value;
    EXPECT_THAT(read(descriptor(), {}, other, true, {}, state).refusal, HasSubstr("state")) << name;
  }
}

TEST(DelimitedReader, TellsPlacesInBytesOfACodePage) {
  const std::string text = "a|b\n1|\xCC\xEC\x94\x39\xD7\x36\n2|\x81|\n3|x";
  const Heard heard = read(descriptor(), {text}, {{"delimiter", "|"}, {"encoding", "gb18030"}});
  ASSERT_EQ(heard.records.size(), 3u) << heard.text();
  EXPECT_EQ(heard.records[0].offset, 4u);
  EXPECT_EQ(heard.records[0].length, 8u);
  EXPECT_EQ(heard.records[1].offset, 13u);  // its delimiter is the first, the other half a letter
  EXPECT_EQ(heard.records[1].length, 4u);
  EXPECT_EQ(heard.records[2].offset, 18u);
}

TEST(DelimitedReader, HoldsARowOfACodePageToTheLimitInItsOwnBytes) {
  std::string row = "1|";
  while (row.size() < 64) row += "\xCC\xEC";
  const Options options = {{"delimiter", "|"}, {"encoding", "gb18030"}};
  const Heard fits = read(descriptor(), {"a|b\n" + row + "\n"}, options, true, {64, 10});
  EXPECT_EQ(fits.records.size(), 1u) << fits.text();
  const Heard longer =
      read(descriptor(), {"a|b\n" + row + "\xCC\xEC\n2|x"}, options, true, {64, 10});
  ASSERT_EQ(longer.asides.size(), 2u) << longer.text();
  EXPECT_EQ(longer.asides[0].length, 64u);
  EXPECT_EQ(longer.asides[1].length, 2u);
  EXPECT_EQ(longer.records.size(), 1u);
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
      {{{"encoding", "utf-32"}}, "encoding"},
      {{{"header", "false"}}, "header"},
      {{{"escape", "\""}}, "four different"},
      {{{"escape", "\\"}, {"quote", "none"}}, "escape"},
      {{{"header_line", "-1"}}, "header_line"},
      {{{"header_line", "1001"}}, "header_line"},
      {{{"header_line", "2"}, {"header", "no"}}, "header_line"},
      {{{"header_names", "a"}, {"header", "no"}}, "header_names"},
      {{{"header_names", "a"}, {"header_line", "2"}}, "one of them"},
      {{{"header_names", "a, a"}}, "header_names: \"a\""},
      {{{"short", "fill"}}, "short"},
      {{{"repeated", "aside"}}, "repeated"},
      {{{"ignore", "("}}, "ignore"},
  };
  for (const auto& [options, reason] : bad) {
    EXPECT_THAT(read(descriptor(), {"a\n1\n"}, options).refusal, HasSubstr(reason));
  }
  EXPECT_EQ(read(descriptor(), {}, {{"quote", "none"}, {"comment", "none"}}).refusal, "");
  EXPECT_THAT(read(descriptor(), {}, {{"header_names", "a,b"}}, true, {64, 1}).refusal,
              HasSubstr("header_names: more than the 1 fields"));
}

}  // namespace
}  // namespace girdle::delimited
