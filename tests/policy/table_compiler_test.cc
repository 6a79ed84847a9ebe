#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "policy/table_builder.h"

namespace girdle::policy {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::IsEmpty;

TableSpec screening() {
  TableSpec spec;
  spec.hit_policy = "FIRST";
  spec.inputs = {{"finding", "string", R"("natural", "simulant", "none")"}, {"valid", "number"}};
  spec.outputs = {{"disposition", "string", R"("hold", "release")"}};
  spec.rules = {{{"\"natural\"", ">= required"}, {"\"release\""}}, {{"-", "-"}, {"\"hold\""}}};
  return spec;
}

TEST(TableCompiler, FindsNothingWrongWithARightTable) {
  EXPECT_THAT(problems_of(screening()), IsEmpty());
}

TEST(TableCompiler, TellsAllThatIsWrongWithPlaces) {
  auto spec = screening();
  spec.rules[0].when = {"\"natrual\"", ">= "};
  spec.rules[0].when_marks = {{7, 14}, {7, 27}};
  spec.rules[1].then = {"\"relase\""};
  spec.rules[1].mark = {8, 5};
  const std::string problems = problems_of(spec);
  EXPECT_THAT(problems, HasSubstr("7:14: rule 1, input \"finding\": \"natrual\" is outside the "
                                  "allowed values of the column; did you mean \"natural\"?"));
  EXPECT_THAT(problems, HasSubstr("7:27: rule 1, input \"valid\": cannot read the cell"));
  EXPECT_THAT(problems, HasSubstr("8:5: rule 2, output \"disposition\": \"relase\" is outside"));
}

TEST(TableCompiler, RefusesCellsOfAnotherType) {
  auto spec = screening();
  spec.rules[0].when = {"5", "\"2\""};
  EXPECT_THAT(problems_of(spec),
              AllOf(HasSubstr("5 is a number, and the column holds a string; write \"5\""),
                    HasSubstr("\"2\" is a string, and the column holds a number; write 2")));
  spec = screening();
  spec.rules[0].then = {"true"};
  EXPECT_THAT(problems_of(spec), HasSubstr("true is a boolean, and the column holds a string"));
}

TEST(TableCompiler, RefusesOrderWhereThereIsNone) {
  EXPECT_THAT(problems_of(one_column("FIRST", {{"< null", "1"}})), HasSubstr("than null"));
  EXPECT_THAT(problems_of(one_column("FIRST", {{"[1..null]", "1"}})), HasSubstr("than null"));
  auto spec = one_column("FIRST", {{"> flag", "1"}});
  spec.inputs[0].type = "boolean";
  EXPECT_THAT(problems_of(spec), HasSubstr("no order"));
}

TEST(TableCompiler, RefusesAFactOfTwoTypes) {
  auto spec = screening();
  spec.rules[0].when = {"required", ">= required"};
  EXPECT_THAT(problems_of(spec),
              HasSubstr("\"required\" is a string elsewhere in the table, and a number here"));
}

TEST(TableCompiler, RefusesAFactThatNobodySupplies) {
  const std::vector<KnownFact> known = {
      {"finding", Type::kString}, {"valid", Type::kNumber}, {"required", Type::kNumber}};
  EXPECT_THAT(problems_of(screening(), known), IsEmpty());
  auto spec = screening();
  spec.rules[0].when = {"natural", ">= requird"};
  EXPECT_THAT(problems_of(spec, known),
              AllOf(HasSubstr("no fact \"natural\"; a text stands in double quotes"),
                    HasSubstr("no fact \"requird\"; did you mean \"required\"?")));
  spec = screening();
  spec.inputs[1].type = "string";
  spec.rules[0].when[1] = "-";
  EXPECT_THAT(problems_of(spec, known), HasSubstr("\"valid\" is a number, not a string"));
}

TEST(TableCompiler, TellsAFactThatNobodySuppliesWhereverItIsNamed) {
  const std::vector<KnownFact> known = {{"finding"}, {"valid"}};
  auto spec = screening();
  spec.inputs[1].expression = "vaild";
  spec.rules[0].when = {"-", ">= requird"};
  spec.rules[1].when = {"-", "< requird"};
  const std::string problems = problems_of(spec, known);
  EXPECT_THAT(problems, HasSubstr("input \"vaild\": there is no fact \"vaild\""));
  EXPECT_THAT(problems, HasSubstr("rule 1, input \"vaild\": there is no fact \"requird\""));
  EXPECT_THAT(problems, HasSubstr("rule 2, input \"vaild\": there is no fact \"requird\""));
  spec = screening();
  spec.inputs[0].expression = "";
  EXPECT_THAT(problems_of(spec, known), testing::Not(HasSubstr("no fact \"\"")));
}

TEST(TableCompiler, RefusesAWrongNumberOfCells) {
  auto spec = screening();
  spec.rules[0].when.pop_back();
  spec.rules[1].then.clear();
  EXPECT_THAT(problems_of(spec),
              AllOf(HasSubstr("rule 1: 1 cells in \"when\"; the table needs 2"),
                    HasSubstr("rule 2: 0 cells in \"then\"; the table needs 1")));
}

TEST(TableCompiler, RefusesUnknownWordsOfTheFile) {
  auto spec = screening();
  spec.hit_policy = "first";
  spec.inputs[0].type = "text";
  spec.inputs[1].type = "datum";
  EXPECT_THAT(problems_of(spec),
              AllOf(HasSubstr("unknown hit policy \"first\""), HasSubstr("unknown type \"text\""),
                    HasSubstr("unknown type \"datum\"")));
}

TEST(TableCompiler, RefusesTablesWithNothingInThem) {
  EXPECT_THAT(problems_of(TableSpec{}), AllOf(HasSubstr("no rules"), HasSubstr("no outputs")));
  auto spec = screening();
  spec.inputs[0].expression = " ";
  spec.inputs[0].allowed_values = "natural";
  EXPECT_THAT(problems_of(spec), AllOf(HasSubstr("the expression is empty"),
                                       HasSubstr("the allowed values name \"natural\"")));
}

TEST(TableCompiler, RefusesOutputsThatCannotBeToldApart) {
  auto spec = screening();
  spec.outputs = {{"disposition"}, {"disposition"}, {""}};
  for (auto& rule : spec.rules) rule.then = {"1", "2", "3"};
  EXPECT_THAT(problems_of(spec), AllOf(HasSubstr("two outputs are named \"disposition\""),
                                       HasSubstr("an output has no name")));
}

TEST(TableCompiler, RefusesADefaultForSomeOutputsOnly) {
  auto spec = screening();
  spec.outputs = {{"a", "number", "", "hold"}, {"b", "number"}};
  for (auto& rule : spec.rules) rule.then = {"1", "2"};
  EXPECT_THAT(problems_of(spec), AllOf(HasSubstr("some outputs have a default and some have none"),
                                       HasSubstr("output \"a\", default: it is a literal")));
}

// 8.2.10: priorities come from the outputs' values; aggregators take one column of numbers.
TEST(TableCompiler, RefusesHitPoliciesThatLackWhatTheyNeed) {
  EXPECT_THAT(problems_of(one_column("PRIORITY", {{"-", "1"}})),
              HasSubstr("PRIORITY needs the allowed_values"));
  EXPECT_THAT(problems_of(one_column("FIRST", {{"-", "1"}}, "SUM")), HasSubstr("COLLECT only"));
  EXPECT_THAT(problems_of(one_column("COLLECT", {{"-", "\"a\""}}, "MAX")),
              HasSubstr("MAX needs numbers"));
  EXPECT_THAT(problems_of(one_column("COLLECT", {{"-", "\"a\""}}, "COUNT")), IsEmpty());
}

// Table 49 rows for null and 10.3.2.10 rule 15.b: null = 5 is false, so not(5) is satisfied.
TEST(TableCompiler, WarnsOfNegationsThatMatchAMissingValue) {
  auto spec = one_column("FIRST", {{"not(5)", "1"}, {"!= 5", "1"}, {"not(< 5)", "1"}, {"-", "1"}});
  const Table table = compiled(spec);
  ASSERT_EQ(table.warnings().size(), 2u);
  EXPECT_THAT(table.warnings()[0].text, HasSubstr("rule 1, input \"x\""));
  EXPECT_THAT(table.warnings()[1].text, HasSubstr("rule 2"));
  spec.inputs[0].required = true;
  EXPECT_THAT(compiled(spec).warnings(), IsEmpty());
}

TEST(TableCompiler, DoesNotWarnOfNegationsWhereTheFactIsAlwaysKnown) {
  const auto spec = one_column("FIRST", {{"not(5)", "1"}, {"-", "1"}});
  const auto warnings = [&](bool is_always_known) {
    const KnownFact known[] = {{"x", std::nullopt, is_always_known}};
    return std::get<Table>(Table::compile(spec, known)).warnings().size();
  };
  EXPECT_EQ(warnings(false), 1u);
  EXPECT_EQ(warnings(true), 0u);
}

TEST(TableCompiler, KeepsNotesByRule) {
  auto spec = screening();
  spec.rules[1].note = "nothing is released unseen";
  const Table table = compiled(spec);
  EXPECT_EQ(table.note(2), "nothing is released unseen");
  EXPECT_EQ(table.note(1), "");
  EXPECT_EQ(table.note(0), "");
  EXPECT_EQ(table.note(3), "");
}

}  // namespace
}  // namespace girdle::policy
