// What JSON, XML, slips, fixed columns and lines of messages look like to a draft.
#include <gmock/gmock.h>

#include "draft/fixed_columns.h"
#include "draft/json_levels.h"
#include "draft/line_pattern.h"
#include "draft/plausible_text.h"
#include "draft/proposal.h"
#include "draft/slips.h"
#include "draft/text_lines.h"
#include "draft/xml_elements.h"

namespace girdle::draft {
namespace {

using testing::Contains;
using testing::ElementsAre;
using testing::Key;

TEST(TextLines, EndAtCrLfLfAndCr) {
  EXPECT_THAT(lines_of("a\r\nb\nc\rd"), ElementsAre("a", "b", "c", "d"));
  EXPECT_THAT(lines_of("a\n\n"), ElementsAre("a", ""));
}

TEST(JsonLevels, AreTheDocumentAndEachListOfObjects) {
  const auto found = json_levels(
      {R"({"site": "x", "sessions": [{"operator": "d", "runs": [{"no": 1}, {"no": 2}]}]})"});
  ASSERT_TRUE(found);
  ASSERT_EQ(found->levels.size(), 3u);
  EXPECT_EQ(found->levels[1].pointer, "/sessions");
  // RFC 6901, and "-" for each element, as the reader has it.
  EXPECT_EQ(found->levels[2].pointer, "/sessions/-/runs");
  EXPECT_EQ(found->levels[2].objects, 2u);
  ASSERT_EQ(found->levels[2].around.size(), 2u);
  EXPECT_THAT(found->levels[2].around[0].members, Contains(Key("operator")));
  EXPECT_THAT(found->levels[2].around[1].members, Contains(Key("site")));
}

TEST(JsonLevels, TellWhatStandsAroundThemAndBefore) {
  const auto found = json_levels(
      {R"({"device": {"serial": "F-7"}, "runs": [{"no": 1}, {"no": 2}], "operator": "d"})"});
  ASSERT_TRUE(found);
  const JsonLevel& runs = found->levels[1];
  ASSERT_EQ(runs.around.size(), 1u);
  EXPECT_EQ(runs.around[0].objects, 1u);
  // The reader hands records on as they come: what stands behind them cannot go with them.
  EXPECT_THAT(runs.around[0].members, ElementsAre(testing::Pair("device/serial", 1)));
}

TEST(JsonLevels, AreFoundInLinesThoughOneCameGarbled) {
  const auto found = json_levels({"{\"a\":1}\n{\"a\":2}\n{\"a\":3}\n{\"a\":4}\n{\"a\":\xFF}\n"});
  ASSERT_TRUE(found);
  EXPECT_TRUE(found->are_lines);
  EXPECT_EQ(found->levels.front().objects, 4u);
}

TEST(JsonLevels, AreFoundWhateverNumbersThereAre) {
  EXPECT_TRUE(json_levels({R"({"a":123456789012345678901234567890,"b":"1e999\"","c":1e999})"}));
}

TEST(JsonLevels, AreNoneInOtherText) { EXPECT_FALSE(json_levels({"a,b\n1,2\n"})); }

TEST(Proposals, AreOfTheReaderThatAPersonNamesThoughTheTextSaysOtherwise) {
  const Look look = look_at({{"a.json", "{\"a\": 1}\n{\"a\": 2}\n"}}, false, {});
  EXPECT_EQ(proposals_for(look).front().reader, "json");
  ASSERT_FALSE(proposals_for(look, "delimited").empty());
  EXPECT_EQ(proposals_for(look, "delimited").front().reader, "delimited");
}

TEST(FixedColumns, LetTheLastFieldGrowWhereItsNameIsLongerThanItsValues) {
  const auto found = fixed_shape({"item   result\nR1042  A\nR1043  B\nR1044  A\n"}, false);
  ASSERT_TRUE(found);
  ASSERT_EQ(found->fields.size(), 2u);
  EXPECT_TRUE(found->fields[1].is_open);
  EXPECT_EQ(found->short_rows, 0u);
}

TEST(XmlElements, AreCountedByTheirWays) {
  const auto found =
      xml_elements({"<?xml version='1.0'?><!-- <x> --><export><stone id='1'><code>N</code></stone>"
                    "<stone id='2' note='>'><code/><code/></stone></export>"});
  ASSERT_TRUE(found);
  ASSERT_EQ(found->size(), 3u);
  EXPECT_THAT((*found)[1].path, ElementsAre("export", "stone"));
  EXPECT_EQ((*found)[1].count, 2u);
  EXPECT_EQ((*found)[1].parents, 1u);
  EXPECT_THAT((*found)[1].attributes, ElementsAre("id", "note"));
  EXPECT_TRUE((*found)[1].repeats_children);
  EXPECT_TRUE((*found)[2].holds_text);
}

TEST(XmlElements, AreNoneWhereTagsDoNotFit) {
  EXPECT_FALSE(xml_elements({"<a><b></a></b>"}));
  EXPECT_FALSE(xml_elements({"<a>"}));
  EXPECT_FALSE(xml_elements({"a < b"}));
}

TEST(Slips, EndAtTheLineThatComesBetweenThem) {
  const auto found = slip_shape({"Stock: R1\nResult: A\n-----\nStock: R2\nResult: B\n---\n"});
  ASSERT_TRUE(found);
  EXPECT_EQ(found->end, "-+");
  EXPECT_EQ(found->slips, 2u);
  EXPECT_FALSE(found->last_is_unended);
}

TEST(Slips, EndAtBlankLinesWhereNothingElseSetsThemApart) {
  const auto found = slip_shape({"Stock: R1\nResult: A\n\nStock: R2\nResult: B\n"});
  ASSERT_TRUE(found);
  EXPECT_EQ(found->end, "^$");
  EXPECT_TRUE(found->last_is_unended);
}

TEST(Slips, AreNotTakenApartByABlankLineInTheMiddle) {
  const auto found = slip_shape({"Stock: R1042\n\nResult: A\n\n\nStock: R1043\nResult: B\n\n\n"});
  ASSERT_TRUE(found);
  EXPECT_EQ(found->slips, 2u);
  EXPECT_EQ(found->end_seen, "the last label of each slip");
}

TEST(Slips, LeaveALetterheadOut) {
  const auto found = slip_shape(
      {"QUAY STREET\nStock: R1\nPage 1\n** end **\nQUAY STREET\nStock: R2\n** end **\n"});
  ASSERT_TRUE(found);
  EXPECT_EQ(found->end, "\\*\\* end \\*\\*");
  EXPECT_THAT(found->ignore, ElementsAre("QUAY STREET", "Page \\d+"));
}

TEST(Slips, MayHaveLabelsOfTwoWords) {
  const auto found = slip_shape({"Date, time: 11/02/2026 10:15\nResult: A\n"});
  ASSERT_TRUE(found);
  EXPECT_THAT(found->distinct_labels, ElementsAre("Date, time", "Result"));
}

TEST(Slips, AreNoColumnsWithATimeInThem) {
  EXPECT_FALSE(
      slip_shape({"R  501 2026-11-02 10:15:30 R1042\nR  502 2026-11-02 10:16:40 R1043\n"}));
}

TEST(Slips, AreNoTableOfTimes) { EXPECT_FALSE(slip_shape({"1;10:15:30;A\n2;10:16:40;B\n"})); }

TEST(FixedColumns, EndWhereAllLinesHaveBlanks) {
  const auto found = fixed_shape({"   1 R1042  A\n  12 R1043  B\n 123 R7     -\n"}, false);
  ASSERT_TRUE(found);
  ASSERT_EQ(found->fields.size(), 3u);
  // What is right-aligned grows to the left, all else to the right.
  EXPECT_EQ(found->fields[0].from, 1u);
  EXPECT_EQ(found->fields[0].to, 4u);
  EXPECT_EQ(found->fields[1].from, 6u);
  EXPECT_EQ(found->fields[1].to, 12u);
}

TEST(FixedColumns, HaveTheNamesThatStandAboveThem) {
  const auto found =
      fixed_shape({"run  item   result\n  1  R1042  A\n  2  R1043  B\n  3  R1044  A\n"}, false);
  ASSERT_TRUE(found);
  EXPECT_EQ(found->header_line, 1u);
  EXPECT_EQ(found->fields[1].name, "item");
  EXPECT_EQ(found->rows, 3u);
}

TEST(FixedColumns, AreNoneInRunningText) {
  EXPECT_FALSE(fixed_shape({"one two\nthree four\nfi ve six\n"}, false));
}

TEST(LinePattern, FitsOtherLinesOfItsKind) {
  EXPECT_EQ(pattern_for("Page 1 of 12"), "Page \\d+ of \\d+");
  EXPECT_EQ(pattern_for("  ------ "), "-+");
  EXPECT_EQ(pattern_for("a.b (c)"), "a\\.b \\(c\\)");
}

// The bytes 47 72 F6 DF 65 and 53 94 81 in Python's codecs cp1252, cp1251, cp437 and cp850.
TEST(Plausibility, IsGreaterForTheTextThatAPersonWrote) {
  EXPECT_GT(plausibility("Größe"), plausibility("GrцЯe"));
  EXPECT_GT(plausibility("Größe"), plausibility("Gr÷▀e"));
  EXPECT_GT(plausibility("Söü"), plausibility("S”\u0081"));
  EXPECT_GT(plausibility("Камень"), plausibility("Êàìåíü"));
}

}  // namespace
}  // namespace girdle::draft
