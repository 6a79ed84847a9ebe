#include "delivery/file_names.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "delivery/sample_outcomes.h"

namespace girdle::delivery {
namespace {

using testing::HasSubstr;

class FileNamesTest : public testing::Test {
 protected:
  std::optional<FileNames> compile(std::string pattern, std::string_view extension = "json") {
    config::DropFolder folder;
    folder.name = std::move(pattern);
    folder.name_mark = {7, 21};
    problems_.clear();
    return FileNames::compile(folder, extension, config::Report(file_, problems_));
  }

  std::string name(const std::string& pattern, const model::Outcome& outcome, size_t count = 1) {
    const auto names = compile(pattern);
    if (!names) return "no pattern: " + (problems_.empty() ? "" : problems_.front().text);
    return names->name(outcome, count, kWritten).whole();
  }

  // The name of a file that is called after the stock number.
  std::string named_by(std::string stock_number) {
    model::Outcome outcome = sample_outcome(42, 3);
    outcome.stock_number = std::move(stock_number);
    return name("{stock_number}_{id}.csv", outcome);
  }

  // What is said of a pattern; always one thing, at its place.
  std::string problem_of(std::string pattern) {
    EXPECT_FALSE(compile(pattern)) << pattern;
    EXPECT_EQ(problems_.size(), 1u) << pattern;
    if (problems_.size() != 1) return {};
    EXPECT_EQ(problems_.front().mark.line, 7);
    EXPECT_EQ(problems_.front().mark.column, 21);
    EXPECT_EQ(problems_.front().file, file_);
    return problems_.front().text;
  }

  const base::Instant kWritten = base::from_millis(1793614531007);  // 2026-11-02T10:15:31.007Z
  std::string file_ = "girdled.yaml";
  config::Problems problems_;
};

TEST_F(FileNamesTest, AreTheTimeAndTheIdWithTheBodysExtensionUnlessTheHouseSaysOtherwise) {
  EXPECT_EQ(name("", sample_outcome(42, 3)), "20261102T101531007Z-q1-42-3.json");
}

TEST_F(FileNamesTest, SayWhatTheFirstOutcomeSays) {
  EXPECT_EQ(name("{site}.{stock_number}.{disposition}.{sequence}.{count}.{time}.{id}.txt",
                 sample_outcome(42, 3), 17),
            "quay-street.R1042.refer.3.17.20261102T101531007Z.q1-42-3.txt");
}

TEST_F(FileNamesTest, AreTheSameAtEveryAttemptUnlessTheySayWhen) {
  const auto names = compile("{stock_number}-{id}.csv");
  ASSERT_TRUE(names);
  const std::string first = names->name(sample_outcome(42, 3), 1, kWritten).whole();
  EXPECT_EQ(names->name(sample_outcome(42, 3), 1, kWritten + base::Millis(5)).whole(), first);
}

// Importers mostly go by names, and the outcomes of a case must reach them in their order.
TEST_F(FileNamesTest, StandInTheOrderOfWritingWhereTheyBeginWithTheTime) {
  const auto names = compile("{time}-{id}.csv");
  ASSERT_TRUE(names);
  const std::string first = names->name(sample_outcome(9, 9), 1, kWritten).whole();
  EXPECT_LT(first, names->name(sample_outcome(10, 1), 1, kWritten + base::Millis(1)).whole());
  EXPECT_LT(first, names->name(sample_outcome(9, 10), 1, kWritten + base::Millis(993)).whole());
}

TEST_F(FileNamesTest, NeverLeaveTheFolder) {
  for (const std::string& stock_number :
       {std::string("../../etc/passwd"), std::string(".."), std::string("."), std::string("/"),
        std::string("/etc/passwd"), std::string("a/../b"), std::string("..\\..\\x"), std::string(),
        std::string("a\0b", 3), std::string(".hidden"), std::string("-rf"), std::string("\n"),
        std::string("%2F"), std::string("~root")}) {
    const std::string named = named_by(stock_number);
    EXPECT_EQ(named.find_first_of(std::string("/\\\0\n~ ", 6)), std::string::npos) << named;
    EXPECT_NE(named.front(), '.') << named;
    EXPECT_NE(named.front(), '-') << named;
    EXPECT_THAT(named, testing::EndsWith("_q1-42-3.csv"));
  }
  EXPECT_EQ(named_by("../../etc/passwd"), "%2E.%2F..%2Fetc%2Fpasswd_q1-42-3.csv");
}

TEST_F(FileNamesTest, AreNeverHidden) {
  model::Outcome outcome = sample_outcome(42, 3);
  outcome.site.clear();
  EXPECT_EQ(name("{site}.{id}.csv", outcome), "_q1-42-3.csv");
}

// RFC 3986 2.1: the octets of UTF-8 (RFC 3629), in upper-case hexadecimal digits.
TEST_F(FileNamesTest, WriteWhatIsNoLetterOrDigitAsPercentEscapes) {
  EXPECT_EQ(named_by("\xC3\xA9meraude 7"), "%C3%A9meraude%207_q1-42-3.csv");
  EXPECT_EQ(named_by("\xE9\x91\xBD-9"), "%E9%91%BD-9_q1-42-3.csv");
  EXPECT_EQ(named_by("100%"), "100%25_q1-42-3.csv");
  EXPECT_EQ(named_by("R.10_a-B"), "R.10_a-B_q1-42-3.csv");
}

TEST_F(FileNamesTest, AreCutAt200BytesBetweenCharactersAndKeepTheId) {
  for (const size_t length : {100u, 199u, 200u, 5000u}) {
    std::string stock_number;
    while (stock_number.size() < length) stock_number += "\xE9\x91\xBD";
    const std::string named = named_by(stock_number);
    EXPECT_LE(named.size(), FileNames::kMostBytes);
    EXPECT_GE(named.size(), FileNames::kMostBytes - 3);
    EXPECT_THAT(named, testing::EndsWith("_q1-42-3.csv"));
    const size_t escape = named.rfind('%');
    EXPECT_EQ(named.find('_'), escape + 3) << named;  // the last escape is whole
  }
}

TEST_F(FileNamesTest, ShareWhatRoomThereIsAmongLongValues) {
  model::Outcome outcome = sample_outcome(42, 3);
  outcome.stock_number.assign(400, 'R');
  outcome.site.assign(400, 's');
  const std::string named = name("{site}_{stock_number}_{id}.csv", outcome);
  EXPECT_EQ(named.size(), FileNames::kMostBytes);
  EXPECT_THAT(named, HasSubstr("ssssssssssssssss_RRRRRRRRRRRRRRRR"));
}

TEST_F(FileNamesTest, TakeANumberBeforeTheExtension) {
  const auto names = compile("{id}.csv");
  ASSERT_TRUE(names);
  const FileName file = names->name(sample_outcome(42, 3), 1, kWritten);
  EXPECT_EQ(file.numbered(1), "q1-42-3.csv");
  EXPECT_EQ(file.numbered(2), "q1-42-3-2.csv");
  EXPECT_EQ(compile("{id}.tar.gz")->name(sample_outcome(42, 3), 1, kWritten).numbered(3), "q1-42-3.tar-3.gz");
}

TEST_F(FileNamesTest, TakeNoDotOfAStockNumberForAnExtension) {
  model::Outcome outcome = sample_outcome(42, 3);
  outcome.stock_number = "R.10";
  EXPECT_EQ(compile("{id}-{stock_number}")->name(outcome, 1, kWritten).numbered(2), "q1-42-3-R.10-2");
}

TEST_F(FileNamesTest, SayWhatIsWrongWithAPattern) {
  EXPECT_EQ(problem_of("{stok}-{id}.csv"),
            "\"{stok}\" stands for nothing in a file name; there is {id}, {time}, {stock_number}, "
            "{site}, {disposition}, {sequence} and {count}");
  EXPECT_THAT(problem_of("{}-{id}"), HasSubstr("\"{}\" stands for nothing"));
  EXPECT_THAT(problem_of("{stock_number}.csv"), HasSubstr("has no {id}"));
  EXPECT_THAT(problem_of("out/{id}.csv"), HasSubstr("no \"/\""));
  EXPECT_THAT(problem_of("in\\{id}.csv"), HasSubstr("no \"/\", \"\\\" or"));
  EXPECT_THAT(problem_of(".{id}.csv"), HasSubstr("hidden"));
  EXPECT_THAT(problem_of("{id"), HasSubstr("\"{\" of the file name has no \"}\""));
  EXPECT_THAT(problem_of("id}{id}"), HasSubstr("\"}\" of the file name has no \"{\""));
  EXPECT_THAT(problem_of(std::string(160, 'x') + "{id}.csv"),
              HasSubstr("212 bytes long; at most 200"));
  EXPECT_THAT(problem_of("{id}{id}{id}{id}{id}"), HasSubstr("at most 200"));
}

TEST_F(FileNamesTest, SayAllThatIsWrongAtOnce) {
  EXPECT_FALSE(compile("./{time}"));
  EXPECT_EQ(problems_.size(), 3u);  // hidden, a slash, no id
}

}  // namespace
}  // namespace girdle::delivery
