// A policy file and a decision table by itself.
#include <gmock/gmock.h>

#include "small_house.h"

namespace girdle::config {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

#define EXPECT_PROBLEM(problems, text) EXPECT_THAT((problems), ElementsAre("/house/p.yaml:" text))

Policy policy_of(const std::string& text) {
  MemoryFiles files = small_house("site: a\nledger: { path: l.db }\npolicy: p.yaml\n");
  files.file("/house/p.yaml", text);
  return load("/house/girdled.yaml", files).settings.policy;
}

constexpr const char* kTable =
    "  hit_policy: FIRST\n"
    "  inputs:\n"
    "    - { expression: finding, type: string, allowed_values: '\"natural\", \"none\"' }\n"
    "    - { expression: valid, type: number }\n"
    "  outputs:\n"
    "    - { name: disposition, type: string, allowed_values: '\"hold\", \"release\"', default: "
    "'\"hold\"' }\n"
    "    - { name: reason }\n"
    "  rules:\n"
    "    - { when: ['\"none\"', '-'], then: ['\"hold\"', '\"a\"'], note: \"why this rule is here\" "
    "}\n"
    "    - { when: [-, 3], then: [~, null] }\n";

TEST(PolicyFile, TakesDefaultsForWhatItDoesNotSay) {
  const Policy policy = policy_of("name: ours\nversion: 2\n");
  const Policy usual;
  EXPECT_EQ(policy.file, "/house/p.yaml");
  EXPECT_EQ(policy.name, "ours");
  EXPECT_EQ(policy.version, "2");
  EXPECT_EQ(policy.required, usual.required);
  EXPECT_EQ(policy.reopen_after, usual.reopen_after);
  EXPECT_EQ(policy.scan_fresh, usual.scan_fresh);
  EXPECT_EQ(policy.accept_unknown_scope, usual.accept_unknown_scope);
  EXPECT_FALSE(policy.table);
}

TEST(PolicyFile, IsReadAsItSays) {
  const Policy policy = policy_of(
      "name: ours\nversion: 2024-11-02\n"
      "parameters: { required: 3, accept_unknown_scope: true }\n"
      "reopen_after: 14d\nscan_fresh: 90s\n"
      "reasons: { no: \"No!\", findings_differ: ~ }\n"
      "table:\n" +
      std::string(kTable));
  EXPECT_EQ(policy.version, "2024-11-02");
  EXPECT_EQ(policy.required, 3);
  EXPECT_TRUE(policy.accept_unknown_scope);
  EXPECT_EQ(policy.reopen_after, std::chrono::hours(14 * 24));
  EXPECT_EQ(policy.scan_fresh, std::chrono::seconds(90));
  EXPECT_EQ(policy.reason_texts.at("no"), "No!");
  ASSERT_TRUE(policy.table);
  EXPECT_EQ(policy.table->file, "/house/p.yaml");
  EXPECT_EQ(policy.table->rules.size(), 2u);
}

TEST(PolicyFile, SaysWhatItMayHold) {
  EXPECT_PROBLEM(problems_in_policy("version: 1\n"),
                 "1:1: the policy needs the key \"name\" (Its name; outcomes carry it)");
  EXPECT_PROBLEM(problems_in_policy("name: a\nversion: 1\nparameters: { required: 0 }\n"),
                 "3:25: required: it must be a whole number from 1 to 100, not \"0\"");
  EXPECT_PROBLEM(
      problems_in_policy("name: a\nversion: 1\nparameters: { accept_unknown_scop: 1 }\n"),
      "3:15: parameters has no key \"accept_unknown_scop\"; did you mean "
      "\"accept_unknown_scope\"?");
  EXPECT_PROBLEM(problems_in_policy("name: a\nversion: 1\nreasons: [a]\n"),
                 "3:10: reasons: it must be a map of texts, not a list of 1");
}

TEST(PolicyFile, KeepsWhatIsRightBesideWhatIsWrong) {
  const Policy policy = policy_of(
      "nam: ours\nversion: 2\nreopen_after: never\nscan_fresh: 90s\n"
      "table:\n" +
      std::string(kTable));
  EXPECT_EQ(policy.version, "2");
  EXPECT_EQ(policy.reopen_after, Policy().reopen_after);
  EXPECT_EQ(policy.scan_fresh, std::chrono::seconds(90));
  ASSERT_TRUE(policy.table);
  EXPECT_TRUE(policy.table->whole);
  EXPECT_EQ(policy.table->rules.size(), 2u);
}

// Never the default table in place of one that is wrong.
TEST(PolicyFile, HasATableOfItsOwnEvenWhereThatIsNone) {
  for (const char* table : {"table:\n", "table: [a]\n", "table: x\n", "table: {}\n"}) {
    const Policy policy = policy_of("name: a\nversion: 1\n" + std::string(table));
    ASSERT_TRUE(policy.table) << table;
    EXPECT_FALSE(policy.table->whole) << table;
  }
}

TEST(PolicyFile, MustBeThere) {
  EXPECT_THAT(
      problems_with("policy: p.yaml\n"),
      ElementsAre("/house/girdled.yaml:3:9: policy: the file /house/p.yaml does not exist"));
}

TEST(DecisionTableFile, KeepsCellsAsTextsWithTheirPlaces) {
  std::string text;
  for (std::string_view rest = kTable; !rest.empty();) {
    const size_t end = rest.find('\n');
    text += std::string(rest.substr(2, end - 1));
    rest.remove_prefix(end + 1);
  }
  MemoryFiles files;
  files.file("/t.yaml", text);
  const LoadedTable loaded = load_table("/t.yaml", files);
  EXPECT_THAT(formatted(loaded.problems), IsEmpty());
  const DecisionTable& table = loaded.table;
  EXPECT_EQ(table.hit_policy.text, "FIRST");
  EXPECT_EQ(table.aggregation.text, "");
  ASSERT_EQ(table.inputs.size(), 2u);
  EXPECT_EQ(table.inputs[0].expression.text, "finding");
  EXPECT_EQ(table.inputs[0].type, "string");
  EXPECT_EQ(table.inputs[0].allowed_values.text, "\"natural\", \"none\"");
  EXPECT_EQ(table.inputs[0].allowed_values.mark.column, 58);
  EXPECT_EQ(table.inputs[1].allowed_values.text, "");
  ASSERT_EQ(table.outputs.size(), 2u);
  EXPECT_EQ(table.outputs[0].default_value.text, "\"hold\"");
  EXPECT_EQ(table.outputs[1].type, "");
  ASSERT_EQ(table.rules.size(), 2u);
  EXPECT_EQ(table.rules[0].when[0].text, "\"none\"");
  EXPECT_EQ(table.rules[0].when[1].mark.line, 9);
  EXPECT_EQ(table.rules[0].when[1].mark.column, 24);
  EXPECT_EQ(table.rules[0].note, "why this rule is here");
  EXPECT_EQ(table.rules[1].when[0].text, "-");
  EXPECT_EQ(table.rules[1].when[1].text, "3");
  EXPECT_EQ(table.rules[1].then[0].text, "~");
  EXPECT_EQ(table.rules[1].then[1].text, "null");
}

TEST(DecisionTableFile, MayBeJson) {
  MemoryFiles files;
  files.file("/t.json",
             R"({"hit_policy": "UNIQUE", "inputs": [{"expression": "a", "type": "number"}],
    "outputs": [{"name": null, "type": null, "allowed_values": "\"x\", \"y\""}],
    "rules": [{"when": [">=18"], "then": ["\"x\""]}]})");
  const LoadedTable loaded = load_table("/t.json", files);
  EXPECT_THAT(formatted(loaded.problems), IsEmpty());
  EXPECT_EQ(loaded.table.outputs.at(0).name.text, "");
  EXPECT_EQ(loaded.table.outputs.at(0).allowed_values.text, "\"x\", \"y\"");
  EXPECT_EQ(loaded.table.rules.at(0).when.at(0).text, ">=18");
}

DecisionTable table_of(const std::string& text) {
  MemoryFiles files;
  files.file("/t.yaml", text);
  return load_table("/t.yaml", files).table;
}

// Texts of cells; "(…)" around those of stand-ins.
std::vector<std::string> shown_cells(const std::vector<Text>& cells) {
  std::vector<std::string> out;
  for (const Text& cell : cells) {
    out.push_back(cell.mark.line != 0 ? cell.text : "(" + cell.text + ")");
  }
  return out;
}

TEST(DecisionTableFile, KeepsTheNumbersOfColumnsAndCellsBesideWrongOnes) {
  const DecisionTable table = table_of(
      "inputs:\n  - { expresion: a }\n  - b\n  - { expression: c, type: nmber, unit: mm }\n"
      "outputs:\n  - { name: d }\n  - { nam: e }\n"
      "rules:\n  - { when: ['1', '2', '3'], then: ['4', '5'] }\n"
      "  - { when: [[x], '2', [y]], then: ['4'] }\n"
      "  - x\n"
      "  - { when: '1', then: ['4', '5', [z], '7'] }\n");
  EXPECT_FALSE(table.whole);
  ASSERT_EQ(table.inputs.size(), 3u);
  EXPECT_EQ(table.inputs[0].expression.mark.line, 0);
  EXPECT_EQ(table.inputs[1].expression.mark.line, 0);
  EXPECT_EQ(table.inputs[2].expression.text, "c");
  EXPECT_EQ(table.inputs[2].expression.mark.line, 4);
  EXPECT_EQ(table.inputs[2].type, "");
  ASSERT_EQ(table.outputs.size(), 2u);
  EXPECT_EQ(table.outputs[1].name.mark.line, 0);
  ASSERT_EQ(table.rules.size(), 4u);
  EXPECT_THAT(shown_cells(table.rules[0].when), ElementsAre("(-)", "(-)", "3"));
  EXPECT_THAT(shown_cells(table.rules[0].then), ElementsAre("4", "(0)"));
  EXPECT_THAT(shown_cells(table.rules[1].when), ElementsAre("(-)", "(-)", "(-)"));
  EXPECT_THAT(shown_cells(table.rules[1].then), ElementsAre("4"));
  EXPECT_EQ(table.rules[1].mark.line, 10);
  EXPECT_THAT(shown_cells(table.rules[2].when), ElementsAre("(-)", "(-)", "(-)"));
  EXPECT_EQ(table.rules[2].mark.line, 0);
  EXPECT_THAT(shown_cells(table.rules[3].when), ElementsAre("(-)", "(-)", "(-)"));
  EXPECT_THAT(shown_cells(table.rules[3].then), ElementsAre("4", "(0)", "(0)", "7"));
}

TEST(DecisionTableFile, HasNoCellsOfColumnsThatAreNotThere) {
  const DecisionTable table = table_of(
      "inputs: a\noutputs: [{ name: b }]\nrules:\n"
      "  - { when: ['1', '2'], then: ['4'] }\n");
  EXPECT_THAT(table.inputs, IsEmpty());
  EXPECT_THAT(table.rules.at(0).when, IsEmpty());
  EXPECT_THAT(shown_cells(table.rules.at(0).then), ElementsAre("4"));
  EXPECT_NE(table.hit_policy.mark.line, 0);
}

// What is said of the whole table stands at its hit policy.
TEST(DecisionTableFile, HasAPlaceAsAWholeOnlyWhereItsHeadsAreRight) {
  const auto place = [](const std::string& hit_policy, const std::string& outputs) {
    return table_of(hit_policy + "inputs: [{ expression: a }]\noutputs: " + outputs +
                    "\nrules: [{ when: ['-'], then: ['1'] }]\n")
        .hit_policy.mark.line;
  };
  EXPECT_EQ(place("", "[{ name: b }]"), 1);
  EXPECT_EQ(place("note: x\nhit_policy: FIRST\n", "[{ name: b, type: text }]"), 0);
  EXPECT_EQ(place("hit_policy: FIRST\n", "[{ name: b, type: text }]"), 1);
  EXPECT_EQ(place("hit_policy: FRIST\n", "[{ name: b }]"), 0);
  EXPECT_EQ(place("aggregation: TOTAL\n", "[{ name: b }]"), 0);
  EXPECT_EQ(place("", "[{ nam: b }]"), 0);
  EXPECT_EQ(place("", "[{ name: b, default: [x] }]"), 0);
  EXPECT_EQ(place("", "[{ name: b }, x]"), 0);
  EXPECT_EQ(place("", "b"), 0);
}

TEST(DecisionTableFile, SaysWhichFactsMustBeThere) {
  const DecisionTable table = table_of(
      "inputs: [{ expression: a, required: true }, { expression: b }]\n"
      "outputs: [{ name: c }]\nrules: [{ when: ['-', '-'], then: ['1'] }]\n");
  EXPECT_TRUE(table.whole);
  EXPECT_TRUE(table.inputs.at(0).required);
  EXPECT_FALSE(table.inputs.at(1).required);
}

TEST(DecisionTableFile, SaysWhatItMayHold) {
  const auto problems_of = [](const std::string& text) {
    MemoryFiles files;
    files.file("/house/p.yaml", text);
    return formatted(load_table("/house/p.yaml", files).problems);
  };
  EXPECT_THAT(
      problems_of("hit_policy: FRIST\ninputs: []\noutputs: [{ nam: a }]\n"
                  "rules: [{ when: x, then: [[y]] }]\n"),
      ElementsAre("/house/p.yaml:1:13: hit_policy: it must be UNIQUE, ANY, PRIORITY, FIRST, "
                  "COLLECT, RULE ORDER or OUTPUT ORDER, not \"FRIST\"",
                  "/house/p.yaml:2:9: inputs: it must be a list of at least one map of keys "
                  "and values, each after a dash, not an empty list",
                  "/house/p.yaml:3:13: an output has no key \"nam\"; did you mean \"name\"?",
                  "/house/p.yaml:4:17: when: it must be a list of cells, each a text in single "
                  "quotes, not \"x\"",
                  "/house/p.yaml:4:27: then: each must be a text in single quotes, not a list of "
                  "1"));
  EXPECT_PROBLEM(
      problems_of("inputs: [{ expression: a, type: day }]\noutputs: [{}]\n"
                  "rules: [{ when: ['-'], then: ['1'] }]\n"),
      "1:33: type: it must be string, number, boolean, date, time, date and time, dateTime, "
      "days and time duration, years and months duration or Any, not \"day\"");
  MemoryFiles none;
  EXPECT_THAT(formatted(load_table("/t.yaml", none).problems),
              ElementsAre("/t.yaml: the file /t.yaml does not exist"));
}

}  // namespace
}  // namespace girdle::config
