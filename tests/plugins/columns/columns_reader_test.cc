#include "columns/columns_reader.h"

#include <gmock/gmock.h>

#include <random>

#include "plugins/promises.h"

namespace girdle::columns {
namespace {

using plugins_test::Heard;
using plugins_test::Options;
using plugins_test::read;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Pair;
using testing::SizeIs;

const Options kPlain = {{"fields", "item 1-6, result 8"}};
const Options kKinds = {{"fields", "'H' carried: bench 3-8; 'R': item 3-7, result 9"},
                        {"ignore", "'T'"}};

// Sources of the cases: tests/corpus/columns/README.md.
TEST(ColumnsCorpus, DocumentsComeOutAsWritten) {
  plugins_test::expect_corpus(descriptor(), "columns", 49);
}

TEST(ColumnsCorpus, IsTheSameHoweverItIsCut) {
  plugins_test::expect_corpus_from_any_split(descriptor(), "columns");
}

TEST(ColumnsReader, MixedLinesAreTheSameHoweverTheyAreCut) {
  std::mt19937 random(7);
  const std::vector<std::string> parts = {"H desk-1\n",
                                          "R R1042 A\n",
                                          "R R1043 B\r\n",
                                          "R R1044 C\r",
                                          "T 3\n",
                                          "\n",
                                          "\f",
                                          "R R10\n",
                                          "\xC3\xA9",
                                          "\xFF",
                                          "\t",
                                          " ",
                                          "H",
                                          "R R1042 A",
                                          "Q",
                                          "\r\n",
                                          std::string(70, 'x')};
  for (unsigned i = 0; i < 200 && !testing::Test::HasFailure(); ++i) {
    std::string text;
    for (size_t n = random() % 14; n > 0; --n) text += parts[random() % parts.size()];
    SCOPED_TRACE(testing::PrintToString(text));
    plugins_test::expect_the_same_from_any_split(descriptor(), text, kKinds, {64, 8}, i);
    std::string wide = "\xFE\xFF";
    for (const char c : text) wide += {'\0', c};
    if (i % 4 == 0)
      plugins_test::expect_the_same_from_any_split(descriptor(), wide, kKinds, {65, 8}, i);
  }
}

TEST(ColumnsReader, LosesNoByteInSilence) {
  std::mt19937 random(8);
  const std::string_view alphabet = "RH 1\t\n\rA";
  for (int i = 0; i < 500; ++i) {
    std::string text;
    for (size_t n = random() % 200; n > 0; --n) text += alphabet[random() % alphabet.size()];
    SCOPED_TRACE(testing::PrintToString(text));
    plugins_test::expect_all_bytes_told(
        text, read(descriptor(), {text}, {{"fields", "'R': a 2, b 3-4; 'RH': c 3"}}),
        [](std::string_view rest) {
          return rest.find_first_not_of(" \t\r\n") == std::string_view::npos;
        });
  }
}

TEST(ColumnsReader, SaysWhichBytesAndLineARecordCameFrom) {
  const std::string text = "\xEF\xBB\xBF\r\n\fR1042  A \r\n\nR1043  B";
  const Heard heard = read(descriptor(), {text}, kPlain);
  ASSERT_THAT(heard.records, SizeIs(2));
  EXPECT_EQ(text.substr(heard.records[0].offset, heard.records[0].length), "R1042  A ");
  EXPECT_EQ(heard.records[0].line, 2u);
  EXPECT_EQ(text.substr(heard.records[1].offset, heard.records[1].length), "R1043  B");
  EXPECT_EQ(heard.records[1].line, 4u);
  EXPECT_EQ(heard.records[0].layout, heard.records[1].layout);
  EXPECT_NE(heard.records[0].layout, 0u);
}

TEST(ColumnsReader, GivesEachKindOfLineALayoutOfItsOwn) {
  const Heard heard =
      read(descriptor(), {"R A\nV B\nR C\n"}, {{"fields", "'R': item 3; 'V': note 3"}});
  ASSERT_THAT(heard.records, SizeIs(3));
  EXPECT_EQ(heard.records[0].layout, heard.records[2].layout);
  EXPECT_NE(heard.records[0].layout, heard.records[1].layout);
}

TEST(ColumnsReader, KeepsBackALastLineThatMayStillGrow) {
  const Heard heard = read(descriptor(), {"R1042  A\nR1043"}, kPlain, false);
  EXPECT_THAT(heard.records, SizeIs(1));
  EXPECT_EQ(heard.consumed, 9u);
  const Heard next = read(descriptor(), {"R1043  B\n"}, kPlain, false, {}, heard.state);
  ASSERT_THAT(next.records, SizeIs(1));
  EXPECT_EQ(next.records[0].offset, 0u);
  EXPECT_EQ(next.records[0].line, 2u);
}

TEST(ColumnsReader, CarriesFieldsIntoWhatGrowsLater) {
  const Heard heard = read(descriptor(), {"H desk-1\nR R1042 A\n"}, kKinds, false);
  const Heard next = read(descriptor(), {"R R1043 B\n"}, kKinds, false, {}, heard.state);
  ASSERT_THAT(next.records, SizeIs(1));
  EXPECT_THAT(next.records[0].fields,
              ElementsAre(Pair("item", "R1043"), Pair("result", "B"), Pair("bench", "desk-1")));
}

TEST(ColumnsReader, CarriesNothingOverALineThatNobodyCanRead) {
  for (const std::string& line : {std::string("\xFF desk-2"), std::string(70, 'H')}) {
    const Heard heard =
        read(descriptor(), {"H desk-1\n" + line + "\nR R1042 A\n"}, kKinds, true, {64, 8});
    EXPECT_THAT(heard.records, IsEmpty()) << line;
    ASSERT_THAT(heard.asides, testing::Not(IsEmpty()));
    EXPECT_THAT(heard.asides.back().reason, HasSubstr("may have been another such line"));
  }
}

TEST(ColumnsReader, SetsALineOverTheLimitAsideInPiecesAndGoesOn) {
  const std::string text = "R1042  A\n" + std::string(150, 'x') + "\nR1043  B\n";
  const Heard heard = read(descriptor(), {text}, kPlain, true, {64, 8});
  ASSERT_THAT(heard.asides, SizeIs(3));
  EXPECT_EQ(heard.asides[0].offset, 9u);
  EXPECT_EQ(heard.asides[0].length, 64u);
  EXPECT_EQ(heard.asides[2].length, 22u);
  EXPECT_THAT(heard.asides[2].reason, HasSubstr("longer than 64 bytes"));
  ASSERT_THAT(heard.records, SizeIs(2));
  EXPECT_EQ(heard.records[1].line, 3u);
}

TEST(ColumnsReader, ALineWithoutEndDoesNotHoldUpAGrowingDocument) {
  const std::string text(1000, 'x');
  const Heard heard = read(descriptor(), {text}, kPlain, false, {64, 8});
  EXPECT_GE(heard.consumed, text.size() - 64);
}

TEST(ColumnsReader, TakesALineThatIsAsLongAsTheLimit) {
  const std::string text = "R1042  A" + std::string(56, ' ') + "\n";
  EXPECT_THAT(read(descriptor(), {text}, kPlain, true, {64, 8}).records, SizeIs(1));
  EXPECT_THAT(read(descriptor(), {" " + text}, kPlain, true, {64, 8}).records, IsEmpty());
}

TEST(ColumnsReader, RefusesAStateThatIsNotItsOwn) {
  plugins_test::expect_bad_states_refused(descriptor(), "H desk-1\nR R1042 A\nR", "R R1043 B\nx\n",
                                          kKinds);
  const std::string good = read(descriptor(), {"R1042  A\n"}, kPlain, false).state;
  EXPECT_THAT(read(descriptor(), {}, {{"fields", "item 1-6"}}, false, {}, good).refusal,
              HasSubstr("state"));
}

TEST(ColumnsReader, StopsWhenTheHostSaysSo) {
  for (uint64_t calls = 1; calls <= 3; ++calls) {
    const Heard heard = read(descriptor(), {"R1042  A\nx\nR1043  B\nR1044  C\n"}, kPlain, true,
                             {1 << 20, 100, calls});
    EXPECT_EQ(heard.status, GIRDLE_STOP);
    EXPECT_EQ(heard.records.size() + heard.asides.size(), calls);
    EXPECT_THAT(heard.breaches, IsEmpty());
  }
}

TEST(ColumnsReader, RefusesOptionsThatDoNotGoTogether) {
  const std::string fields = "item 1-6";
  const std::pair<Options, const char*> bad[] = {
      {{}, "fields: say which field"},
      {{{"fields", fields}, {"count", "cells"}}, "count: must be characters or bytes"},
      {{{"fields", fields}, {"trim", "yes"}}, "trim: must be true or false"},
      {{{"fields", fields}, {"short", "cut"}}, "short: must be aside or pad"},
      {{{"fields", fields}, {"tabs", "17"}}, "tabs: must be from 1 to 16"},
      {{{"fields", fields}, {"tabs", "-1"}}, "tabs: must be"},
      {{{"fields", fields}, {"encoding", "latin"}}, "encoding: must be"},
      {{{"fields", fields}, {"ignore", "#"}}, "ignore: must be beginnings of lines"},
      {{{"fields", "a 1, b 2, c 3, d 4"}}, "fields: more than the 3 fields"},
      {{{"fields", "'H' carried: a 2, b 3; 'R': c 2, d 3"}}, "fields: more than the 3 fields"},
  };
  for (const auto& [options, reason] : bad)
    EXPECT_THAT(read(descriptor(), {}, options, true, {64, 3}).refusal, HasSubstr(reason));
  EXPECT_THAT(read(descriptor(), {}, kPlain, true, {63, 8}).refusal, HasSubstr("limits"));
  EXPECT_THAT(read(descriptor(), {}, kPlain, true, {64, 0}).refusal, HasSubstr("limits"));
}

}  // namespace
}  // namespace girdle::columns
