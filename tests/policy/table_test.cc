// Sources beside the checks: clauses of DMN 1.5, and cases of the DMN TCK (github.com/dmn-tck/tck
// at 0dbcaf9) by id.
#include "policy/table.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "policy/table_builder.h"

namespace girdle::policy {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

TableSpec overlapping(std::string hit_policy, std::string aggregation = "") {
  return one_column(std::move(hit_policy), {{">=10", "1"}, {">=20", "2"}}, std::move(aggregation));
}

// 8.2.10 item 1: overlap is a fault of the table; what then happens is our choice.
TEST(Table, UniqueDecidesByTheOneRuleAndRefusesTwo) {
  EXPECT_EQ(decide(overlapping("UNIQUE"), {{"x", number("15")}}), R"({"outputs":1,"rules":[1]})");
  const Decision decision = compiled(overlapping("UNIQUE")).evaluate(Facts{{"x", number("20")}});
  EXPECT_EQ(decision.kind, Decision::Kind::kError);
  EXPECT_EQ(decision.error.kind, EvaluationError::Kind::kOverlap);
  EXPECT_THAT(decision.error.text, HasSubstr("more than one rule"));
  EXPECT_THAT(decision.rules, ElementsAre(1, 2));
  EXPECT_TRUE(decision.values.empty());
}

// 8.2.10 item 4.
TEST(Table, FirstTakesTheLowestNumber) {
  EXPECT_EQ(decide(overlapping("FIRST"), {{"x", number("20")}}), R"({"outputs":1,"rules":[1]})");
}

// 8.2.10 item 2: differing outputs make the hit policy incorrect; the error is our choice.
TEST(Table, AnyTakesWhatAllRulesSayAndRefusesDisagreement) {
  const auto agreeing = one_column("ANY", {{">=10", "2.0"}, {">=20", "2.00"}});
  EXPECT_EQ(decide(agreeing, {{"x", number("20")}}), R"({"outputs":2,"rules":[1,2]})");
  const Decision decision = compiled(overlapping("ANY")).evaluate(Facts{{"x", number("20")}});
  EXPECT_EQ(decision.error.kind, EvaluationError::Kind::kDisagree);
  EXPECT_THAT(decision.error.text, HasSubstr("rules disagree"));
  EXPECT_THAT(decision.rules, ElementsAre(1, 2));
}

// 8.2.10 item 3.
TEST(Table, PriorityTakesTheOutputThatStandsFirst) {
  auto spec = overlapping("PRIORITY");
  spec.outputs[0].allowed_values = "2, 1";
  EXPECT_EQ(decide(spec, {{"x", number("20")}}), R"({"outputs":2,"rules":[2]})");
  spec.outputs[0].allowed_values = "1, 2";
  EXPECT_EQ(decide(spec, {{"x", number("20")}}), R"({"outputs":1,"rules":[1]})");
}

// 8.2.10, Figure 8-19 (the table from memory, the order 2, 4, 3, 1 from the text).
TEST(Table, OutputOrderSortsCompoundOutputsFromLeftToRight) {
  TableSpec spec;
  spec.hit_policy = "OUTPUT ORDER";
  spec.inputs = {{"Age", "number"}, {"Risk category", "string"}, {"Debt review", "boolean"}};
  spec.outputs = {{"Routing", "string", R"("DECLINE", "REFER", "ACCEPT")"},
                  {"Review level", "string", R"("LEVEL 2", "LEVEL 1", "NONE")"},
                  {"Reason", "string"}};
  spec.rules = {{{"-", "-", "-"}, {"\"ACCEPT\"", "\"NONE\"", "\"Acceptable\""}},
                {{"<18", "-", "-"}, {"\"DECLINE\"", "\"NONE\"", "\"Applicant too young\""}},
                {{"-", "\"HIGH\"", "-"}, {"\"REFER\"", "\"LEVEL 1\"", "\"High risk\""}},
                {{"-", "-", "true"}, {"\"REFER\"", "\"LEVEL 2\"", "\"Under debt review\""}}};
  const Decision decision = compiled(spec).evaluate(
      Facts{{"Age", number("17")}, {"Risk category", text("HIGH")}, {"Debt review", true}});
  EXPECT_THAT(decision.rules, ElementsAre(2, 4, 3, 1));
  EXPECT_EQ(decision.record(1)[2], text("Under debt review"));
}

// 0113-outputOrder-hitpolicy-singleinoutcol 001, 002; 0112-ruleOrder-hitpolicy-singleinoutcol 001.
TEST(Table, ListsComeInTheOrderOfOutputsOrOfRules) {
  auto spec = one_column(
      "OUTPUT ORDER", {{">=18", "\"Approved\""}, {"<18", "\"Declined\""}, {">=0", "\"Approved\""}});
  spec.outputs[0].allowed_values = R"("Approved","Declined")";
  EXPECT_EQ(decide(spec, {{"x", number("17")}}),
            R"([{"outputs":"Approved","rules":[3]},{"outputs":"Declined","rules":[2]}])");
  EXPECT_EQ(decide(spec, {{"x", number("19")}}),
            R"([{"outputs":"Approved","rules":[1]},{"outputs":"Approved","rules":[3]}])");
  spec.hit_policy = "RULE ORDER";
  EXPECT_EQ(decide(spec, {{"x", number("17")}}),
            R"([{"outputs":"Declined","rules":[2]},{"outputs":"Approved","rules":[3]}])");
}

// 0115-sum-collect-hitpolicy 001, 0116-count-collect-hitpolicy 002; 8.2.10 item 7.
TEST(Table, CollectGivesAllOutputsOrOneNumberOfThem) {
  const auto salary = [](std::string aggregation) {
    return one_column("COLLECT", {{">1", "100"}, {">2", "200"}, {">3", "300"}, {">5", "500"}},
                      std::move(aggregation));
  };
  EXPECT_EQ(decide(salary("SUM"), {{"x", number("6")}}), R"({"outputs":1100,"rules":[1,2,3,4]})");
  EXPECT_EQ(decide(salary("COUNT"), {{"x", number("2")}}), R"({"outputs":1,"rules":[1]})");
  EXPECT_EQ(decide(salary("MIN"), {{"x", number("4")}}), R"({"outputs":100,"rules":[1,2,3]})");
  EXPECT_EQ(decide(salary("MAX"), {{"x", number("4")}}), R"({"outputs":300,"rules":[1,2,3]})");
  EXPECT_EQ(decide(salary(""), {{"x", number("2")}}), R"([{"outputs":100,"rules":[1]}])");
}

// 10.3.2.10 step 2: for every hit policy, and before any aggregation, so a count of nothing is
// null.
TEST(Table, NoRuleGivesTheDefaultOrNullWhateverTheHitPolicy) {
  for (const auto* policy : {"UNIQUE", "ANY", "FIRST", "COLLECT", "RULE ORDER"}) {
    auto spec = overlapping(policy);
    EXPECT_EQ(decide(spec, {{"x", number("1")}}), R"({"outputs":null,"rules":[]})") << policy;
    spec.outputs[0].default_value = "7";
    EXPECT_EQ(decide(spec, {{"x", number("1")}}), R"({"outputs":7,"rules":[]})") << policy;
    EXPECT_EQ(compiled(spec).evaluate(Facts{{"x", number("1")}}).kind, Decision::Kind::kDecided);
  }
  for (const auto* aggregation : {"SUM", "MIN", "MAX", "COUNT"}) {
    EXPECT_EQ(decide(overlapping("COLLECT", aggregation), {{"x", number("1")}}),
              R"({"outputs":null,"rules":[]})");
  }
}

// 8.1 against 10.3.2.10 rule 15.c; our choice.
TEST(Table, DashAcceptsAMissingFactUnlessItsColumnRequiresIt) {
  auto spec = one_column("UNIQUE", {{"-", "1"}});
  EXPECT_EQ(decide(spec, {}), R"({"outputs":1,"rules":[1]})");
  spec.inputs[0].required = true;
  const Decision decision = compiled(spec).evaluate(Facts{{"y", number("1")}});
  EXPECT_EQ(decision.error.kind, EvaluationError::Kind::kMissing);
  EXPECT_EQ(decision.error.fact, "x");
}

// Tables 52-55: only true satisfies.
TEST(Table, RuleWithAnUnknownCellDoesNotMatch) {
  const auto spec = one_column("UNIQUE", {{"<10", "1"}, {">=10", "2"}, {"not(<10)", "3"}});
  EXPECT_EQ(decide(spec, {}), R"({"outputs":null,"rules":[]})");
}

// Our choice: an input error, not "no rule".
TEST(Table, FactOfAnotherTypeIsAnInputError) {
  const Decision decision =
      compiled(one_column("UNIQUE", {{"5", "1"}, {"-", "2"}})).evaluate(Facts{{"x", text("5")}});
  EXPECT_EQ(to_json(decision), R"({"error":{"kind":"wrong_type","rules":[],"text":)"
                               R"("\"x\" is \"5\"; it should be a number"}})");
}

TEST(Table, FactNamedInACellHasTheTypeOfItsColumn) {
  const Table table = compiled(one_column("FIRST", {{">= required", "1"}, {"-", "2"}}));
  EXPECT_THAT(table.fact_names(), ElementsAre("x", "required"));
  EXPECT_EQ(table.evaluate(Facts{{"x", number("2")}, {"required", text("2")}}).error.kind,
            EvaluationError::Kind::kWrongType);
  EXPECT_EQ(to_json(table.evaluate(Facts{{"x", number("2")}, {"required", number("2")}})),
            R"({"outputs":1,"rules":[1]})");
}

TEST(Table, ColumnWithoutATypeTakesTheOneThatACellAsksOfItsFact) {
  TableSpec spec = one_column("FIRST", {});
  spec.inputs = {{"limit"}, {"x", "number"}};
  spec.rules = {{{"-", ">= limit"}, {"1"}}, {{"-", "-"}, {"2"}}};
  EXPECT_EQ(compiled(spec).evaluate(Facts{{"x", number("2")}, {"limit", text("2")}}).error.kind,
            EvaluationError::Kind::kWrongType);
}

// 10.3.2.10 speaks of it only through "-"; an input error is our choice.
TEST(Table, FactOutsideTheAllowedValuesIsAnInputError) {
  auto spec = one_column("FIRST", {{"-", "1"}});
  spec.inputs[0].allowed_values = "[18..120]";
  const Decision decision = compiled(spec).evaluate(Facts{{"x", number("17")}});
  EXPECT_EQ(decision.error.kind, EvaluationError::Kind::kNotAllowed);
  EXPECT_THAT(decision.error.text, HasSubstr("\"x\" is 17"));
  EXPECT_EQ(decide(spec, {}), R"({"outputs":1,"rules":[1]})") << "null passes allowed values";
}

TEST(Table, CellThatCannotBeComparedIsNamed) {
  auto spec = one_column("FIRST", {{"not(5)", "1"}, {"-", "2"}});
  spec.inputs[0].type = "";
  const Decision decision = compiled(spec).evaluate(Facts{{"x", text("5")}});
  EXPECT_EQ(decision.error.kind, EvaluationError::Kind::kCell);
  EXPECT_EQ(decision.error.rule, 1);
  EXPECT_EQ(decision.error.column, 1);
  EXPECT_THAT(decision.error.text, HasSubstr("rule 1: \"x\" is \"5\""));
  EXPECT_THAT(decision.error.text, HasSubstr("not(5)"));
}

TEST(Table, CellThatCannotBeComparedDoesNotMatterWhereTheRuleFailsAnyway) {
  TableSpec spec = one_column("FIRST", {});
  spec.inputs = {{"x"}, {"y"}};
  spec.rules = {{{"5", "1"}, {"1"}}, {{"-", "-"}, {"2"}}};
  EXPECT_EQ(decide(spec, {{"x", text("a")}, {"y", number("2")}}), R"({"outputs":2,"rules":[2]})");
  EXPECT_EQ(compiled(spec).evaluate(Facts{{"x", text("a")}, {"y", number("1")}}).error.kind,
            EvaluationError::Kind::kCell);
}

// 0008-listGen/listGen5: outputs that name facts.
TEST(Table, OutputsMayNameFacts) {
  auto spec = one_column("RULE ORDER", {{"-", "a"}, {"-", "b"}});
  spec.outputs[0] = {"", "string", R"("p", "q")"};
  EXPECT_EQ(decide(spec, {{"a", text("p")}, {"b", text("q")}}),
            R"([{"outputs":"p","rules":[1]},{"outputs":"q","rules":[2]}])");
  const Decision decision = compiled(spec).evaluate(Facts{{"a", text("p")}, {"b", text("other")}});
  EXPECT_EQ(decision.error.kind, EvaluationError::Kind::kOutput);
  EXPECT_THAT(decision.rules, ElementsAre(2));
}

TEST(Table, TwoColumnsMayAskOneFact) {
  TableSpec spec = one_column("UNIQUE", {});
  spec.inputs = {{"x", "number"}, {"x", "number"}};
  spec.rules = {{{">= 1", "< 3"}, {"1"}}};
  EXPECT_THAT(compiled(spec).fact_names(), ElementsAre("x"));
  EXPECT_EQ(decide(spec, {{"x", number("2")}}), R"({"outputs":1,"rules":[1]})");
  EXPECT_EQ(decide(spec, {{"x", number("3")}}), R"({"outputs":null,"rules":[]})");
}

TEST(Table, TooFewFactsAreAnErrorAndNotRead) {
  const Decision decision = compiled(overlapping("FIRST")).evaluate(std::span<const Value>());
  EXPECT_EQ(decision.error.kind, EvaluationError::Kind::kCall);
}

}  // namespace
}  // namespace girdle::policy
