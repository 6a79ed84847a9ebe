// A policy file and a decision table by itself.
#include <gmock/gmock.h>

#include "base/time.h"
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
  EXPECT_EQ(policy.repeat_correlation, usual.repeat_correlation);
  EXPECT_EQ(policy.miss_limit, usual.miss_limit);
  EXPECT_EQ(policy.false_alarm_limit, usual.false_alarm_limit);
  EXPECT_EQ(policy.confidence, usual.confidence);
  EXPECT_FALSE(policy.valid_from);
  EXPECT_EQ(policy.valid_from_mark.line, 0);
  EXPECT_FALSE(policy.table || policy.required_table || policy.routing);
  EXPECT_THAT(policy.priors, IsEmpty());
  EXPECT_THAT(policy.examples, IsEmpty());
}

TEST(PolicyFile, IsReadAsItSays) {
  const Policy policy = policy_of(
      "name: ours\nversion: 2024-11-02\n"
      "parameters: { required: 3, accept_unknown_scope: true }\n"
      "reopen_after: 14d\nscan_fresh: 90s\n"
      "reasons: { en: { no: \"No!\", findings_differ: ~ }, pt-br: { no: Não } }\n"
      "table:\n" +
      std::string(kTable));
  EXPECT_EQ(policy.version, "2024-11-02");
  EXPECT_EQ(policy.required, 3);
  EXPECT_TRUE(policy.accept_unknown_scope);
  EXPECT_EQ(policy.reopen_after, std::chrono::hours(14 * 24));
  EXPECT_EQ(policy.scan_fresh, std::chrono::seconds(90));
  EXPECT_EQ(policy.reasons.at("en").at("no").text, "No!");
  EXPECT_EQ(policy.reasons.at("en").at("no").mark.column, 22);
  EXPECT_EQ(policy.reasons.at("en").at("findings_differ").text, "~");
  EXPECT_EQ(policy.reasons.at("pt-BR").at("no").text, "Não");
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
                 "3:10: reasons: it must be a map of languages, each with a map of texts, not a "
                 "list of 1");
}

constexpr const char* kHead = "name: a\nversion: 1\n";
std::vector<std::string> problems_of_lines(const std::string& lines) {
  return problems_in_policy(kHead + lines);
}
Policy policy_with(const std::string& lines) { return policy_of(kHead + lines); }

TEST(PolicyFile, SaysWhoseItIsAndFromWhen) {
  const Policy policy =
      policy_with("valid_from: 2026-11-02\napproved_by: head of buying\nwhy: \"the insurer\"\n");
  EXPECT_EQ(base::format_rfc3339(policy.valid_from.value()), "2026-11-02T00:00:00.000Z");
  EXPECT_EQ(policy.valid_from_mark.line, 3);
  EXPECT_EQ(policy.valid_from_mark.column, 13);
  EXPECT_EQ(policy.approved_by, "head of buying");
  EXPECT_EQ(policy.why, "the insurer");
}

TEST(PolicyFile, BeginsADateInTheZoneOfTheSite) {
  MemoryFiles files =
      small_house("site: a\ntimezone: Europe/Brussels\nledger: { path: l.db }\npolicy: p.yaml\n");
  files.file("/house/p.yaml", std::string(kHead) + "valid_from: 2026-11-02\n");
  const Policy policy = load("/house/girdled.yaml", files).settings.policy;
  EXPECT_EQ(base::format_rfc3339(policy.valid_from.value()), "2026-11-01T23:00:00.000Z");
}

TEST(PolicyFile, KnowsDates) {
  EXPECT_PROBLEM(
      problems_of_lines("valid_from: 2.11.2026\n"),
      "3:13: valid_from: it must be a date such as 2026-11-02, or a time with its offset "
      "such as 2026-11-02T09:00:00+01:00, not \"2.11.2026\"");
  const Policy policy = policy_with("valid_from: soon\n");
  EXPECT_FALSE(policy.valid_from);
  EXPECT_EQ(policy.valid_from_mark.line, 3);
}

TEST(PolicyFile, KeepsItsNumbersExactly) {
  const Policy policy = policy_with(
      "parameters: { repeat_correlation: 0.30, miss_limit: 5e-3, false_alarm_limit: .04, "
      "confidence: \"0.9000000000000000000000000000000001\" }\n");
  EXPECT_EQ(policy.repeat_correlation.text(), "0.3");
  EXPECT_EQ(policy.miss_limit.text(), "0.005");
  EXPECT_EQ(policy.false_alarm_limit.text(), "0.04");
  EXPECT_EQ(policy.confidence.text(), "0.9000000000000000000000000000000001");
}

// The ends of each, and what is next to them in 34 digits.
TEST(PolicyFile, KnowsTheBoundsOfItsNumbers) {
  struct Case {
    const char* key;
    std::vector<const char*> in, out;
    const char* must;
  };
  const std::vector<Case> cases = {
      {"repeat_correlation",
       {"0", "1", "-0", "1e0", "0.9999999999999999999999999999999999"},
       {"-1e-40", "1.000000000000000000000000000000001", "0,5", "", "half"},
       "a number from 0 to 1"},
      {"miss_limit",
       {"1e-40", "0.4999999999999999999999999999999999"},
       {"0", "0.5", "0.50", "-0.1"},
       "a number of more than 0 and less than 0.5"},
      {"false_alarm_limit",
       {"1e-40", "0.4999999999999999999999999999999999"},
       {"0.0", "0.5", "1"},
       "a number of more than 0 and less than 0.5"},
      {"confidence",
       {"0.5", "0.9999999999999999999999999999999999"},
       {"1", "1.0", "0.4999999999999999999999999999999999", "95%",
        "0.12345678901234567890123456789012345"},
       "a number of at least 0.5 and less than 1"},
  };
  for (const Case& c : cases) {
    const auto problems = [&](const char* number) {
      return problems_of_lines("parameters: { " + std::string(c.key) + ": \"" + number + "\" }\n");
    };
    for (const char* number : c.in) EXPECT_THAT(problems(number), IsEmpty()) << c.key << number;
    for (const char* number : c.out) {
      EXPECT_THAT(problems(number),
                  ElementsAre(testing::HasSubstr(std::string(c.key) + ": it must be " + c.must +
                                                 ", not \"" + number + "\"")));
    }
  }
}

TEST(PolicyFile, HasAPriorForEachChannel) {
  const auto priors = policy_with(
                          "priors:\n  - { natural: 0.7, laboratory_grown: 0.1, treated: 0.2 }\n"
                          "  - { channel: web shop, simulant: 1, source: last year }\n")
                          .priors;
  ASSERT_EQ(priors.size(), 2u);
  EXPECT_EQ(priors[0].channel, "");
  EXPECT_EQ(priors[0].mark.line, 4);
  EXPECT_EQ(priors[0].shares[0].text(), "0.7");
  EXPECT_EQ(priors[0].shares[1].text(), "0.1");
  EXPECT_EQ(priors[0].shares[2].text(), "0.2");
  EXPECT_EQ(priors[0].shares[3].text(), "0");
  EXPECT_EQ(priors[1].channel, "web shop");
  EXPECT_EQ(priors[1].shares[4].text(), "1");
  EXPECT_EQ(priors[1].source, "last year");
}

// In binary floating point 0.7 + 0.1 + 0.2 is less than 1.
TEST(PolicyFile, AddsSharesExactly) {
  const auto told = [](const std::string& shares) {
    return problems_of_lines("priors:\n  - { " + shares + " }\n");
  };
  EXPECT_THAT(told("natural: 0.7, laboratory_grown: 0.1, treated: 0.2"), IsEmpty());
  EXPECT_THAT(
      told("natural: 0.2, laboratory_grown: 0.2, treated: 0.2, composite: 0.2, simulant: 0.2"),
      IsEmpty());
  EXPECT_THAT(told("natural: 1e-34, simulant: 0.9999999999999999999999999999999999"), IsEmpty());
  EXPECT_PROBLEM(told("natural: 0.1"),
                 "4:5: a prior: the shares must be exactly 1 together, not 0.1");
  EXPECT_PROBLEM(told("natural: 0.5, treated: 0.5, simulant: 0.5"),
                 "4:5: a prior: the shares must be exactly 1 together, not 1.5");
  const std::string third = "0.3333333333333333333333333333333333";
  EXPECT_PROBLEM(told("natural: " + third + ", treated: " + third + ", simulant: " + third),
                 "4:5: a prior: the shares must be exactly 1 together, not "
                 "0.9999999999999999999999999999999999");
  EXPECT_PROBLEM(
      told("natural: 1, simulant: 1e-40"),
      "4:5: a prior: the shares have more digits than can be added exactly; write fewer");
  EXPECT_PROBLEM(told(""), "4:5: a prior: the shares must be exactly 1 together, not 0");
}

TEST(PolicyFile, SaysNothingOfASumWhoseSharesAreWrong) {
  EXPECT_PROBLEM(problems_of_lines("priors: [{ natural: 70%, simulant: 0.3 }]\n"),
                 "3:21: natural: it must be a number from 0 to 1, not \"70%\"");
  EXPECT_PROBLEM(problems_of_lines("priors: [{ natral: 0.7, simulant: 0.3 }]\n"),
                 "3:12: a prior has no key \"natral\"; did you mean \"natural\"?");
}

TEST(PolicyFile, HasEachChannelOnce) {
  EXPECT_PROBLEM(problems_of_lines("priors:\n  - { natural: 1 }\n  - { channel: a, natural: 1 }\n"
                                   "  - { natural: 1 }\n"),
                 "6:5: a prior without a channel is here already (line 4); name the channel of all "
                 "but one");
  EXPECT_PROBLEM(problems_of_lines("priors:\n  - { channel: a, natural: 1 }\n"
                                   "  - { channel: A, natural: 1 }\n"
                                   "  - { channel: \"a\", natural: 1 }\n"),
                 "6:16: channel: the channel \"a\" is here already (line 4); each comes once");
}

// The shape of before languages.
TEST(PolicyFile, SaysThatReasonsStandUnderTheirLanguage) {
  EXPECT_PROBLEM(problems_of_lines("reasons:\n  findings_differ: The runs do not agree\n  no: ~\n"),
                 "4:3: reasons: texts stand under their language: put them all one deeper, such as "
                 "reasons: { en: { findings_differ: … } }");
  EXPECT_THAT(policy_with("reasons: { findings_differ: a }\n").reasons, IsEmpty());
}

TEST(PolicyFile, KnowsTagsOfLanguages) {
  EXPECT_PROBLEM(problems_of_lines("reasons: { de_AT: { a: b } }\n"),
                 "3:12: reasons: each key must be the tag of a language, such as en, de or pt-BR, "
                 "not \"de_AT\"");
  EXPECT_PROBLEM(problems_of_lines("reasons: { pt-BR: { a: b }, pt-br: { c: d } }\n"),
                 "3:29: reasons: the language pt-BR is here already (line 3); each comes once");
  EXPECT_PROBLEM(problems_of_lines("reasons: { en: [a] }\n"),
                 "3:16: reasons: \"en\" must have a map of texts, not a list of 1");
  EXPECT_PROBLEM(problems_of_lines("reasons: { en: }\n"),
                 "3:12: reasons: \"en\" must have a map of texts, not nothing");
  EXPECT_PROBLEM(problems_of_lines("reasons: { en: { a: [b] } }\n"),
                 "3:21: reasons: en: \"a\" must have a text, not a list of 1");
  EXPECT_PROBLEM(problems_of_lines("reasons: { en: FILL_IN }\n"),
                 "3:16: reasons: still to be filled in: \"en\"");
}

TEST(PolicyFile, HasThreeTables) {
  const auto table = [](const char* output) {
    return ":\n  inputs: [{ expression: value }]\n  outputs: [{ name: " + std::string(output) +
           " }]\n  rules: [{ when: ['-'], then: ['3'] }]\n";
  };
  const std::string lines = "required" + table("a") + "table" + table("b") + "routing" + table("c");
  EXPECT_THAT(problems_of_lines(lines), IsEmpty());
  const Policy policy = policy_with(lines);
  ASSERT_TRUE(policy.required_table && policy.table && policy.routing);
  EXPECT_EQ(policy.required_table->outputs.at(0).name.text, "a");
  EXPECT_EQ(policy.table->outputs.at(0).name.text, "b");
  EXPECT_EQ(policy.routing->outputs.at(0).name.text, "c");
  EXPECT_EQ(policy.routing->file, "/house/p.yaml");
  EXPECT_TRUE(policy.required_table->whole && policy.routing->whole);
  EXPECT_EQ(policy.required, 2);
}

TEST(PolicyFile, SaysWhereOneNumberForAllStands) {
  EXPECT_PROBLEM(problems_of_lines("required: 3\n"),
                 "3:11: required: it must be a map of keys and values, not \"3\"; one number for "
                 "all is `parameters: { required: … }`");
}

TEST(PolicyFile, HasExamples) {
  const auto examples =
      policy_with(
          "examples:\n"
          "  - { facts: { finding: natural, carat: 0.30, color: ~ }, then: { disposition: refer, "
          "reason: no_rule, required: 3, outlets: [till] }, note: why }\n"
          "  - facts: { valid: 2 }\n    then: { outlets: [] }\n")
          .examples;
  ASSERT_EQ(examples.size(), 2u);
  const Example& first = examples[0];
  EXPECT_EQ(first.mark.line, 4);
  ASSERT_EQ(first.facts.size(), 3u);
  EXPECT_EQ(first.facts[1].first.text, "carat");
  EXPECT_EQ(first.facts[1].first.mark.column, 34);
  EXPECT_EQ(first.facts[1].second.text, "0.30");
  EXPECT_EQ(first.facts[2].second.text, "~");
  EXPECT_EQ(first.disposition.text, "refer");
  EXPECT_EQ(first.reason.text, "no_rule");
  EXPECT_EQ(first.required.text, "3");
  EXPECT_EQ(first.outlets.value().at(0).text, "till");
  EXPECT_EQ(first.note, "why");
  EXPECT_EQ(examples[1].disposition.text, "");
  EXPECT_EQ(examples[1].reason.text, "");
  EXPECT_EQ(examples[1].required.text, "");
  EXPECT_THAT(examples[1].outlets.value(), IsEmpty());
  EXPECT_FALSE(
      policy_with("examples: [{ facts: { a: b }, then: { reason: c } }]\n").examples.at(0).outlets);
}

TEST(PolicyFile, SaysWhatAnExampleMayHold) {
  const auto told = [](const std::string& example) {
    return problems_of_lines("examples:\n  - { " + example + " }\n");
  };
  EXPECT_PROBLEM(told("facts: {}, then: { reason: a }"),
                 "4:14: facts: it must be a map of at least one text, not a map");
  EXPECT_PROBLEM(told("facts: { a: [b] }, then: { reason: a }"),
                 "4:19: facts: \"a\" must have a text, not a list of 1");
  EXPECT_PROBLEM(told("facts: { a: b }, then: {}"),
                 "4:30: then needs at least one of disposition, reason, required and outlets");
  EXPECT_PROBLEM(
      told("facts: { a: b }"),
      "4:5: an example needs the key \"then\" (What the policy must say of them; at least "
      "one key)");
  EXPECT_PROBLEM(
      told("facts: { a: b }, then: { disposition: sell }"),
      "4:45: disposition: it must be repeat, release, hold, refer or reject, not \"sell\"");
  EXPECT_PROBLEM(told("facts: { a: b }, then: { required: 101 }"),
                 "4:42: required: it must be a whole number from 1 to 100, not \"101\"");
  EXPECT_PROBLEM(told("facts: { a: b }, then: { outlets: till }"),
                 "4:41: outlets: it must be a list of texts, not \"till\"");
  EXPECT_PROBLEM(told("facts: { a: b }, then: { outlets: [till, ''] }"),
                 "4:48: outlets: each must be a text that is not empty, not \"\"");
}

TEST(PolicyFile, IsReadByItselfToo) {
  MemoryFiles files;
  files.file("/new.yaml",
             std::string(kHead) + "valid_from: 2026-11-02\nparameters: { required: 4 }\n");
  const LoadedPolicy here = load_policy("/new.yaml", "Europe/Brussels", files);
  EXPECT_THAT(formatted(here.problems), IsEmpty());
  EXPECT_EQ(here.policy.file, "/new.yaml");
  EXPECT_EQ(here.policy.required, 4);
  EXPECT_EQ(base::format_rfc3339(here.policy.valid_from.value()), "2026-11-01T23:00:00.000Z");
  const LoadedPolicy anywhere = load_policy("/new.yaml", "UTC", files);
  EXPECT_EQ(base::format_rfc3339(anywhere.policy.valid_from.value()), "2026-11-02T00:00:00.000Z");
}

TEST(PolicyFile, TellsByItselfTooWhatIsWrong) {
  MemoryFiles files;
  files.file("/new.yaml", "name: a\nparameters: { required: 0 }\n");
  EXPECT_THAT(formatted(load_policy("/new.yaml", "UTC", files).problems),
              ElementsAre("/new.yaml:1:1: the policy needs the key \"version\" (Its version; "
                          "outcomes carry it)",
                          "/new.yaml:2:25: required: it must be a whole number from 1 to 100, not "
                          "\"0\""));
  EXPECT_THAT(formatted(load_policy("/none.yaml", "UTC", files).problems),
              ElementsAre("/none.yaml: the file /none.yaml does not exist"));
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

// Never the default table, or none, in place of one that is wrong.
TEST(PolicyFile, HasATableOfItsOwnEvenWhereThatIsNone) {
  for (const char* table : {":\n", ": [a]\n", ": x\n", ": {}\n"}) {
    const std::string value = table;
    const Policy policy = policy_with("table" + value + "required" + value + "routing" + value);
    for (const auto& one : {policy.table, policy.required_table, policy.routing}) {
      ASSERT_TRUE(one) << table;
      EXPECT_FALSE(one->whole) << table;
      EXPECT_EQ(one->rules.size(), 1u) << table;
    }
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
