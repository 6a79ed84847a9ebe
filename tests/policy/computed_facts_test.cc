// Columns and outputs that are calculated, and columns of dates: DMN 1.5, 8.3.2 (input expressions
// and output entries are expressions). The errors are our choice, see README.md.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "policy/table_builder.h"

namespace girdle::policy {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

TableSpec by_the_carat() {
  TableSpec spec = one_column("FIRST", {});
  spec.inputs = {{"price / carat", "number"}, {"finding", "string"}};
  spec.outputs = {{"route", "string"}, {"deposit", "number"}};
  spec.rules = {{{"> 5000", "-"}, {"\"laboratory\"", "price * 0.1"}},
                {{"-", "\"none\""}, {"\"counter\"", "carat / weight"}},
                {{"-", "-"}, {"\"counter\"", "null"}}};
  return spec;
}

Facts stone(std::string_view price, std::string_view carat) {
  return {{"price", number(price)}, {"carat", number(carat)}, {"finding", text("natural")}};
}

TEST(ComputedFacts, AreTestedLikeAnyOtherColumn) {
  EXPECT_EQ(decide(by_the_carat(), stone("9000", "1.5")),
            R"({"outputs":{"route":"laboratory","deposit":900},"rules":[1]})");
  EXPECT_EQ(decide(by_the_carat(), stone("900", "1.5")),
            R"({"outputs":{"route":"counter","deposit":null},"rules":[3]})");
}

TEST(ComputedFacts, AreNoneOfTheFactsToHandOver) {
  const Table table = compiled(by_the_carat());
  EXPECT_THAT(table.fact_names(), ElementsAre("price", "carat", "finding", "weight"));
  EXPECT_EQ(table.fact_types()[0], Type::kNumber);  // its column is one of numbers
}

TEST(ComputedFacts, OfAnInputThatHasNoValueAreAnError) {
  const Decision decision = compiled(by_the_carat()).evaluate(stone("9000", "0"));
  EXPECT_EQ(decision.error.kind, EvaluationError::Kind::kArithmetic);
  EXPECT_EQ(decision.error.text,
            "the input \"price / carat\" has no value: 9000 / 0 divides by zero");
  EXPECT_EQ(decision.error.fact, "price / carat");
}

// 0105-feel-math 023: null goes on; a column may require a value.
TEST(ComputedFacts, OfAnInputAreMissingWhereAFactIs) {
  TableSpec spec = by_the_carat();
  const Facts facts = {{"carat", number("1")}, {"finding", text("natural")}};
  EXPECT_EQ(compiled(spec).evaluate(facts).rules, std::vector<int>{3});
  spec.inputs[0].required = true;
  EXPECT_EQ(compiled(spec).evaluate(facts).error.kind, EvaluationError::Kind::kMissing);
}

TEST(ComputedFacts, OfAnOutputAreAskedOnlyWhenTheirRuleMatches) {
  Facts facts = stone("900", "1.5");
  facts["finding"] = text("none");
  facts["weight"] = number("0");
  const Decision decision = compiled(by_the_carat()).evaluate(facts);
  EXPECT_EQ(decision.error.kind, EvaluationError::Kind::kArithmetic);
  EXPECT_EQ(decision.error.rule, 2);
  EXPECT_EQ(decision.error.column, 2);
  EXPECT_EQ(decision.error.text,
            "rule 2: the output \"carat / weight\" has no value: 1.5 / 0 divides by zero");
}

TEST(ComputedFacts, OfAnOutputAreNeverNullInSilence) {
  Facts facts = stone("900", "1.5");
  facts["finding"] = text("none");
  const Decision decision = compiled(by_the_carat()).evaluate(facts);
  EXPECT_THAT(decision.error.text, HasSubstr("has no value: \"weight\" is missing"));
}

TEST(ComputedFacts, StandInTheExplanation) {
  const auto explanation = compiled(by_the_carat()).explain(stone("900", "1.5"));
  ASSERT_EQ(explanation.rules.size(), 3u);
  EXPECT_EQ(explanation.rules[0].fact, "price / carat");
  EXPECT_EQ(explanation.rules[0].value, number("600"));
  EXPECT_TRUE(compiled(by_the_carat()).explain(stone("900", "0")).rules.empty());
}

TEST(ComputedFacts, OfKindsThatDoNotGoTogetherAreRefusedWhenRead) {
  TableSpec spec = by_the_carat();
  spec.inputs[0].expression = "price / finding";
  EXPECT_THAT(problems_of(spec), HasSubstr("\"price / finding\": by the types of its facts"));
  spec = by_the_carat();
  spec.inputs[0].type = "date";
  spec.inputs.push_back({"price", "number"});
  spec.inputs.push_back({"carat", "number"});
  for (auto& rule : spec.rules) rule.when = {"-", "-", "-", "-"};
  EXPECT_THAT(problems_of(spec),
              HasSubstr("\"price / carat\" gives a number, and the column holds a date"));
  spec = by_the_carat();
  spec.rules[0].then[1] = "1 / 0";
  EXPECT_THAT(problems_of(spec),
              HasSubstr("cannot read the cell \"1 / 0\": 1 / 0 divides by zero"));
}

TEST(ComputedFacts, KeepHyphensInTheNamesOfOurOwnFiles) {
  TableSpec spec = one_column("FIRST", {{"> 1", "1"}});
  spec.inputs[0].expression = "pre-bureau risk";
  EXPECT_THAT(compiled(spec).fact_names(), ElementsAre("pre-bureau risk"));
  spec.inputs[0].expression = "a - b";
  EXPECT_THAT(compiled(spec).fact_names(), ElementsAre("a", "b"));
  spec.inputs[0].expression = "3 * 4";
  EXPECT_THAT(problems_of(spec), HasSubstr("asks no fact"));
  spec.inputs[0].expression = "a + (b";
  EXPECT_THAT(problems_of(spec), HasSubstr("cannot read the expression: at character"));
}

TEST(ComputedFacts, TakeNamesWithSignsWhereTheTableSaysSo) {
  TableSpec spec = one_column("FIRST", {{"> Pre-bureau limit", "Age of stone * 2"}});
  spec.inputs[0].expression = "Pre-bureau risk - Age of stone";
  spec.names = {"Pre-bureau risk", "Pre-bureau limit", "Age of stone"};
  EXPECT_EQ(decide(spec, {{"Pre-bureau risk", number("9")},
                          {"Age of stone", number("4")},
                          {"Pre-bureau limit", number("3")}}),
            R"({"outputs":8,"rules":[1]})");
}

// 0017-tableTests/dateCompare1; facts come as texts, outputs go as texts.
TEST(DateColumns, CompareAndGiveDates) {
  TableSpec spec = one_column(
      "UNIQUE", {{"> date(\"2016-10-01\")", "measured + duration(\"P30D\")"}, {"-", "null"}});
  spec.hit_policy = "FIRST";
  spec.inputs[0] = {"measured", "date"};
  spec.outputs[0].type = "date";
  EXPECT_EQ(decide(spec, {{"measured", date("2016-11-01")}}),
            R"({"outputs":"2016-12-01","rules":[1]})");
  EXPECT_EQ(decide(spec, {{"measured", date("2016-10-01")}}), R"({"outputs":null,"rules":[2]})");
  EXPECT_THAT(
      decide(spec, {{"measured", text("2016-10-32")}}),
      HasSubstr(
          R"("kind":"wrong_type","rules":[],"text":"\"measured\" is \"2016-10-32\"; it should be a date, )"
          R"(written like 2026-11-02")"));
}

TEST(DateColumns, RefuseTextsAndSayWhatIsMeant) {
  TableSpec spec = one_column("FIRST", {{"> \"2016-10-01\"", "1"}});
  spec.inputs[0] = {"measured", "date"};
  EXPECT_THAT(problems_of(spec),
              HasSubstr("and the column holds a date; write date(\"2016-10-01\")"));
  spec.rules[0].when[0] = "[date(\"2016-10-02\")..date(\"2016-10-01\")]";
  EXPECT_THAT(problems_of(spec), HasSubstr("the range runs backwards"));
  spec.rules[0].when[0] = "> date(\"2016-10-32\")";
  EXPECT_THAT(problems_of(spec),
              HasSubstr("at character 3: date(…): \"2016-10-32\" has no day 32 in that month"));
}

}  // namespace
}  // namespace girdle::policy
