#include "labelled/labelled_reader.h"

#include <gmock/gmock.h>

#include <random>

#include "plugins/promises.h"

namespace girdle::labelled {
namespace {

using plugins_test::Heard;
using plugins_test::Options;
using plugins_test::read;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Pair;
using testing::SizeIs;

const Options kRuled = {{"end", "-+"}};

// Sources of the cases: tests/corpus/labelled/README.md.
TEST(LabelledCorpus, DocumentsComeOutAsWritten) {
  plugins_test::expect_corpus(descriptor(), "labelled", 47);
}

TEST(LabelledCorpus, IsTheSameHoweverItIsCut) {
  plugins_test::expect_corpus_from_any_split(descriptor(), "labelled");
}

TEST(LabelledReader, MixedSlipsAreTheSameHoweverTheyAreCut) {
  std::mt19937 random(11);
  const std::vector<std::string> parts = {"Stock: R1042\n",
                                          "Result: A\r\n",
                                          "Note: x\r",
                                          "---\n",
                                          "---\r\n",
                                          "\n",
                                          "\f",
                                          "  more\n",
                                          "QUAY\n",
                                          "\xFF\n",
                                          "odd",
                                          " ",
                                          "a:b",
                                          "\r\n",
                                          "k=v\n",
                                          std::string(70, 'x'),
                                          std::string(40, '\n')};
  const std::vector<Options> shapes = {
      {{"end", "-+"}, {"ignore", "QUAY"}, {"continued", "indented"}},
      {{"lines", "3"}, {"ignore", "QUAY"}},
      {{"end", "-+"}, {"form_feed", "false"}, {"unended", "record"}},
      {{"end", "Result.*"}},
      {}};
  for (unsigned i = 0; i < 300 && !testing::Test::HasFailure(); ++i) {
    std::string text;
    for (size_t n = random() % 16; n > 0; --n) text += parts[random() % parts.size()];
    SCOPED_TRACE(testing::PrintToString(text));
    const Options& options = shapes[i % shapes.size()];
    plugins_test::expect_the_same_from_any_split(descriptor(), text, options, {64, 3}, i);
    std::string wide = "\xFF\xFE";
    for (const char c : text) wide += {c, '\0'};
    if (i % 4 == 0)
      plugins_test::expect_the_same_from_any_split(descriptor(), wide, options, {65, 3}, i);
  }
}

TEST(LabelledReader, LosesNoByteInSilence) {
  std::mt19937 random(12);
  const std::string_view alphabet = "ab::- \n\n\r\f";
  for (int i = 0; i < 500; ++i) {
    std::string text;
    for (size_t n = random() % 300; n > 0; --n) text += alphabet[random() % alphabet.size()];
    SCOPED_TRACE(testing::PrintToString(text));
    plugins_test::expect_all_bytes_told(
        text, read(descriptor(), {text}, kRuled, true, {64, 3}), [](std::string_view rest) {
          return rest.find_first_not_of("- \n\r\f") == std::string_view::npos;
        });
  }
}

TEST(LabelledReader, SaysWhichBytesAndLinesASlipCameFrom) {
  const std::string text =
      "\xEF\xBB\xBF\r\nStock: R1042\r\n\r\nResult: A \r\n\r\n---\r\n\fStock: R1043\r\n---";
  const Heard heard = read(descriptor(), {text}, kRuled);
  ASSERT_THAT(heard.records, SizeIs(2));
  EXPECT_EQ(text.substr(heard.records[0].offset, heard.records[0].length),
            "Stock: R1042\r\n\r\nResult: A ");
  EXPECT_EQ(heard.records[0].line, 2u);
  EXPECT_EQ(text.substr(heard.records[1].offset, heard.records[1].length), "Stock: R1043");
  EXPECT_EQ(heard.records[1].line, 7u);
}

TEST(LabelledReader, KeepsTheLayoutWhileTheLabelsAreTheSame) {
  const Heard heard = read(descriptor(), {"a: 1\n-\na: 2\n-\nb: 3\n-\na: 4\n-\n"}, kRuled);
  ASSERT_THAT(heard.records, SizeIs(4));
  EXPECT_NE(heard.records[0].layout, 0u);
  EXPECT_EQ(heard.records[0].layout, heard.records[1].layout);
  EXPECT_NE(heard.records[1].layout, heard.records[2].layout);
}

TEST(LabelledReader, KeepsBackASlipThatMayStillGrow) {
  const std::string text = "a: 1\n-\n\nb: 2\nc: 3\n";
  const Heard heard = read(descriptor(), {text}, kRuled, false);
  EXPECT_THAT(heard.records, SizeIs(1));
  EXPECT_EQ(heard.consumed, 8u);
  const Heard next =
      read(descriptor(), {text.substr(8) + "d: 4\n-\n"}, kRuled, false, {}, heard.state);
  ASSERT_THAT(next.records, SizeIs(1));
  EXPECT_THAT(next.records[0].fields, ElementsAre(Pair("b", "2"), Pair("c", "3"), Pair("d", "4")));
  EXPECT_EQ(next.records[0].line, 4u);
}

TEST(LabelledReader, SetsASlipOverTheLimitAsideInPiecesAndGoesOnAtItsEnd) {
  std::string slip;
  for (int i = 0; i < 15; ++i) slip += "n" + std::to_string(10 + i) + ": 0123\n";
  const std::string text = "a: 1\n---\n" + slip + "---\nb: 2\n---\n";
  const Heard heard = read(descriptor(), {text}, kRuled, true, {64, 100});
  ASSERT_THAT(heard.asides, SizeIs(3));
  EXPECT_EQ(heard.asides[0].offset, 9u);
  EXPECT_EQ(heard.asides[0].length, 64u);
  EXPECT_EQ(heard.asides[1].length, 64u);
  EXPECT_EQ(heard.asides[2].length, slip.size() - 1 - 128);
  EXPECT_EQ(heard.asides[2].line, 3u);
  EXPECT_THAT(heard.asides[2].reason, HasSubstr("the slip is longer than 64 bytes"));
  ASSERT_THAT(heard.records, SizeIs(2));
  EXPECT_EQ(heard.records[1].line, 19u);
  EXPECT_THAT(read(descriptor(), {text}, kRuled, true, {slip.size() - 1, 100}).asides, IsEmpty());
}

TEST(LabelledReader, ASlipWithoutEndDoesNotHoldUpAGrowingDocument) {
  for (const std::string& more : {std::string("a: 1\n"), std::string("\n"), std::string("x")}) {
    std::string text = "b: 1\n";
    while (text.size() < 2000) text += more;
    const Heard heard = read(descriptor(), {text}, kRuled, false, {64, 100});
    EXPECT_GE(heard.consumed, text.size() - 128) << more;
  }
}

TEST(LabelledReader, PassesOverLinesBetweenSlipsAtOnce) {
  const Heard heard =
      read(descriptor(), {"QUAY\n\n\nQUAY\n"}, {{"ignore", "QUAY"}, {"end", "-"}}, false);
  EXPECT_EQ(heard.consumed, 12u);
}

TEST(LabelledReader, SetsASlipWithTooManyLabelsAside) {
  const Heard heard =
      read(descriptor(), {"a:1\nb:2\n-\na:1\nb:2\nc:3\n-\n"}, kRuled, true, {64, 2});
  EXPECT_THAT(heard.records, SizeIs(1));
  ASSERT_THAT(heard.asides, SizeIs(1));
  EXPECT_EQ(heard.asides[0].reason, "more than 2 labels in one slip");
}

TEST(LabelledReader, RefusesAStateThatIsNotItsOwn) {
  plugins_test::expect_bad_states_refused(descriptor(), "a: 1\n-\nb: 2\nc", "b: 2\n-\nx\n", kRuled);
  const std::string endless = "a: 1\n" + std::string(3 << 20, '\n');
  plugins_test::expect_bad_states_refused(descriptor(), endless, "b: 2\n-\nx\n", kRuled);
  const std::string good = read(descriptor(), {"a: 1\n-\n"}, kRuled, false).state;
  EXPECT_THAT(read(descriptor(), {}, {{"end", "=+"}}, false, {}, good).refusal, HasSubstr("state"));
}

TEST(LabelledReader, StopsWhenTheHostSaysSo) {
  for (uint64_t calls = 1; calls <= 3; ++calls) {
    const Heard heard = read(descriptor(), {"a: 1\n-\nx\n-\na: 2\n-\na: 3\n-\n"}, kRuled, true,
                             {1 << 20, 100, calls});
    EXPECT_EQ(heard.status, GIRDLE_STOP);
    EXPECT_EQ(heard.records.size() + heard.asides.size(), calls);
    EXPECT_THAT(heard.breaches, IsEmpty());
  }
}

TEST(LabelledReader, RefusesOptionsThatDoNotGoTogether) {
  const std::pair<Options, const char*> bad[] = {
      {{{"end", "-+"}, {"lines", "3"}}, "end, lines: a slip ends by one of them"},
      {{{"lines", "-1"}}, "lines: must be a whole number"},
      {{{"lines", "100001"}}, "lines: must be a whole number up to 100000"},
      {{{"form_feed", "no"}}, "form_feed: must be one of true, false"},
      {{{"unended", "x"}}, "unended: must be one of aside, record"},
      {{{"continued", "x"}}, "continued: must be one of never, indented"},
      {{{"fold", "x"}}, "fold: must be one of none, case, space, both"},
      {{{"encoding", "latin"}}, "encoding: must be"},
      {{{"end", "(a"}}, "end: \"(a\" is no regular expression of RE2: missing )"},
      {{{"ignore", "x\n[a"}}, "ignore: \"[a\" is no regular expression of RE2"},
      {{{"labels", "\n"}}, "labels: at least one pattern"},
  };
  for (const auto& [options, reason] : bad)
    EXPECT_THAT(read(descriptor(), {}, options).refusal, HasSubstr(reason));
  EXPECT_THAT(read(descriptor(), {}, {}, true, {63, 8}).refusal, HasSubstr("limits"));
  EXPECT_THAT(read(descriptor(), {}, {}, true, {64, 0}).refusal, HasSubstr("limits"));
}

}  // namespace
}  // namespace girdle::labelled
