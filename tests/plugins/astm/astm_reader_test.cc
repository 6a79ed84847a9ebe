#include "astm/astm_reader.h"

#include <gmock/gmock.h>

#include <algorithm>
#include <random>

#include "plugins/promises.h"

namespace girdle::astm {
namespace {

using plugins_test::Heard;
using plugins_test::Options;
using plugins_test::read;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

// Sources of the cases: tests/corpus/astm/README.md.
TEST(AstmCorpus, DocumentsComeOutAsWritten) {
  plugins_test::expect_corpus(descriptor(), "astm", 38);
}

TEST(AstmCorpus, IsTheSameHoweverItIsCut) {
  plugins_test::expect_corpus_from_any_split(descriptor(), "astm");
}

std::string value(const plugins_test::Record& record, std::string_view name) {
  for (const auto& [known, text] : record.fields) {
    if (known == name) return text;
  }
  return "(none)";
}

// The figure with two patients and four results in CLSI LIS02-A2: which order each result is of,
// and what it says.
TEST(AstmReader, GivesEachResultItsOrderAndPatient) {
  const Heard heard =
      read(descriptor(),
           {"H|\\^&\rP|1\rO|1|927529||^^^A1\\^^^A2\rR|1|^^^A1|0.295||||||||19890327132247\r"
            "R|2|^^^A2|0.312||||||||19890327132248\rP|2|\rO|1|927533||^^^A3\\^^^A4\r"
            "R|1|^^^A3|1.121||||||||19890327132422\rR|2|^^^A4|1.097||||||||19890317132422\rL|1\r"});
  EXPECT_THAT(heard.asides, IsEmpty());
  ASSERT_THAT(heard.records, SizeIs(4));
  const std::vector<std::vector<std::string>> expected = {
      {"1", "927529", "A1", "0.295", "19890327132247"},
      {"1", "927529", "A2", "0.312", "19890327132248"},
      {"2", "927533", "A3", "1.121", "19890327132422"},
      {"2", "927533", "A4", "1.097", "19890317132422"}};
  for (size_t i = 0; i < 4; ++i) {
    const auto& record = heard.records[i];
    EXPECT_THAT(expected[i],
                ElementsAre(value(record, "P.2"), value(record, "O.3"), value(record, "R.3.4"),
                            value(record, "R.4"), value(record, "R.12")));
  }
  EXPECT_EQ(value(heard.records[0], "O.5[2].4"), "A2");
}

TEST(AstmReader, GivesAResultBeforeTheRecordBehindItComes) {
  const Heard heard = read(descriptor(), {"H|\\^&\rP|1\rO|1|A\rR|1|x\r"}, {}, false);
  ASSERT_THAT(heard.records, SizeIs(1));
  EXPECT_EQ(heard.records[0].offset, 16u);
  EXPECT_EQ(heard.records[0].length, 5u);
  EXPECT_EQ(heard.records[0].line, 4u);
  EXPECT_EQ(heard.consumed, 22u);
}

// As a line hands it over: a frame at a time, each from the state that the one before left.
TEST(AstmReader, GoesOnFromFrameToFrame) {
  std::string state;
  std::vector<std::string> results;
  for (const std::string frame :
       {"H|\\^&\r", "P|1\r", "O|1|R1042\r", "R|1|^^^A1|N\r", "R|2|^^^A2|Q\r", "L|1|N\r"}) {
    const Heard heard = read(descriptor(), {frame}, {}, false, {}, state);
    EXPECT_EQ(heard.consumed, frame.size());
    EXPECT_THAT(heard.asides, IsEmpty());
    for (const auto& record : heard.records)
      results.push_back(value(record, "O.3") + value(record, "R.4"));
    state = heard.state;
  }
  EXPECT_THAT(results, ElementsAre("R1042N", "R1042Q"));
  EXPECT_THAT(read(descriptor(), {""}, {}, true, {}, state).asides, IsEmpty());
}

TEST(AstmReader, TellsAtTheEndOfASessionThatItsMessageHadNone) {
  const Heard begun = read(descriptor(), {"H|\\^&\rP|1\r"}, {}, false);
  const Heard ended = read(descriptor(), {""}, {}, true, {}, begun.state);
  ASSERT_THAT(ended.asides, SizeIs(1));
  EXPECT_EQ(ended.asides[0].length, 0u);
  EXPECT_THAT(ended.asides[0].reason, HasSubstr("no L record"));
}

TEST(AstmReader, SetsALongRecordAsideInPiecesAndDoubtsWhatFollows) {
  const std::string long_order = "O|1|" + std::string(100, 'x');
  const Heard heard = read(
      descriptor(), {"H|\\^&\rP|1\rO|1|A\r" + long_order + "\rR|1|x\rP|2\rO|1|B\rR|1|y\rL|1|N\r"},
      {}, true, {64, 100});
  ASSERT_THAT(heard.asides, SizeIs(3));
  EXPECT_EQ(heard.asides[0].length, 64u);
  EXPECT_EQ(heard.asides[1].length, 40u);
  EXPECT_THAT(heard.asides[0].reason, HasSubstr("longer than 64 bytes"));
  EXPECT_THAT(heard.asides[2].reason, HasSubstr("may have been its P record"));
  ASSERT_THAT(heard.records, SizeIs(1));
  EXPECT_EQ(value(heard.records[0], "O.3"), "B");
}

TEST(AstmReader, BoundsTheFieldsOfAResultTogetherWithThoseAroundIt) {
  const std::string message = "H|\\^&\rP|1\rO|1|A\rR|1|x\rL|1|N\r";
  EXPECT_THAT(read(descriptor(), {message}, {}, true, {64, 10}).records, SizeIs(1));
  const Heard heard = read(descriptor(), {message}, {}, true, {64, 9});
  EXPECT_THAT(heard.records, IsEmpty());
  ASSERT_THAT(heard.asides, SizeIs(1));
  EXPECT_THAT(heard.asides[0].reason, HasSubstr("with those of its H, P and O records"));
}

// Digits that were exchanged pass the checksum of a frame (see the framing's tests): what a result
// says is not to be trusted for it. Nothing here can tell; the mapping's bounds may.
TEST(AstmReader, GivesValuesAsTheyStand) {
  const Heard heard = read(descriptor(), {"H|\\^&\rP|1\rO|1|00123\rR|1|W|1.520|12E4| x \rL|1|N\r"});
  ASSERT_THAT(heard.records, SizeIs(1));
  EXPECT_EQ(value(heard.records[0], "O.3"), "00123");
  EXPECT_EQ(value(heard.records[0], "R.4"), "1.520");
  EXPECT_EQ(value(heard.records[0], "R.5"), "12E4");
  EXPECT_EQ(value(heard.records[0], "R.6"), " x ");
}

TEST(AstmReader, StopsWhenTheHostDoes) {
  const std::string message = "H|\\^&\rP|1\rO|1|A\rR|1|x\rR|2|y\rR|3|z\rL|1|T\r";
  const Heard heard = read(descriptor(), {message}, {}, true, {1 << 20, 1000, 2});
  EXPECT_EQ(heard.status, GIRDLE_STOP);
  EXPECT_THAT(heard.records, SizeIs(2));
  EXPECT_THAT(heard.breaches, IsEmpty());
}

const std::vector<std::string>& parts() {
  static const std::vector<std::string> kParts = {"H|\\^&\r",
                                                  "H!~@$!x\r",
                                                  "H|\r",
                                                  "H|\\^&||a & b\r",
                                                  "P|1\r",
                                                  "P!1\r",
                                                  "O|1|R1042\r",
                                                  "O!1!R1043\r",
                                                  "O|1|&\r",
                                                  "R|1|^^^A|0.295\r",
                                                  "R!1!@@@A!0.3\r",
                                                  "R|2|a\\b^c|&F&\r",
                                                  "R|3|&Q&\r",
                                                  "C|1\r",
                                                  "Q|1\r",
                                                  "L|1|N\r",
                                                  "L!1!T\r",
                                                  "L|1|",
                                                  "\r\n",
                                                  "\n",
                                                  "\xC3\xA9",
                                                  "\xFF",
                                                  "X|1\r",
                                                  "R|",
                                                  std::string(70, 'R') + "\r"};
  return kParts;
}

TEST(AstmReader, MixedRecordsAreTheSameHoweverTheyAreCut) {
  std::mt19937 random(7);
  const std::vector<Options> choices = {
      {}, {{"escapes", "keep"}}, {{"comments", "aside"}, {"terminator", "optional"}}};
  for (unsigned i = 0; i < 250 && !testing::Test::HasFailure(); ++i) {
    std::string text = i % 3 == 0 ? "H|\\^&\rP|1\rO|1|A\r" : "";
    for (size_t n = random() % 14; n > 0; --n) text += parts()[random() % parts().size()];
    SCOPED_TRACE(testing::PrintToString(text));
    plugins_test::expect_the_same_from_any_split(descriptor(), text, choices[i % choices.size()],
                                                 {64, 20}, i);
  }
}

// What is in no record and in no aside: records that enclose, that are passed over, ends of
// messages, and line ends.
bool is_hollow(std::string_view stretch) {
  while (!stretch.empty()) {
    const size_t end = std::min(stretch.find_first_of("\r\n"), stretch.size());
    const std::string_view line = stretch.substr(0, end);
    if (!line.empty() && std::string_view("HPOCMSL").find(line[0]) == std::string_view::npos)
      return false;
    stretch.remove_prefix(std::min(end + 1, stretch.size()));
  }
  return true;
}

TEST(AstmReader, TellsOfEveryByte) {
  std::mt19937 random(11);
  for (int i = 0; i < 300; ++i) {
    std::string text;
    for (size_t n = random() % 14; n > 0; --n) text += parts()[random() % parts().size()];
    plugins_test::expect_all_bytes_told(text, read(descriptor(), {text}), is_hollow);
  }
}

TEST(AstmReader, RefusesStatesThatAreNotItsOwn) {
  plugins_test::expect_bad_states_refused(descriptor(), "H|\\^&||x\rP|1\rO|1|A\rR|1|x\r",
                                          "R|2|y\rL|1|N\r", {});
  const std::string state = read(descriptor(), {"H|\\^&\r"}, {}, false).state;
  EXPECT_NE(read(descriptor(), {}, {{"escapes", "keep"}}, false, {}, state).refusal, "");
}

TEST(AstmReader, RefusesOptionsThatItDoesNotHave) {
  for (const Options& options : std::vector<Options>{{{"escapes", "yes"}},
                                                     {{"comments", "no"}},
                                                     {{"terminator", "x"}},
                                                     {{"encoding", "utf-7"}}}) {
    EXPECT_NE(read(descriptor(), {}, options).refusal, "");
  }
  EXPECT_NE(read(descriptor(), {}, {}, true, {63, 1}).refusal, "");
}

}  // namespace
}  // namespace girdle::astm
