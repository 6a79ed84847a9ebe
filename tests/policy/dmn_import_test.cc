// Models of our own after the XML schema of DMN 1.3 to 1.5 and clauses 6.3, 7.3 and 8.3 of DMN 1.5.
#include "policy/dmn_import.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <iterator>

#include "policy/values.h"

namespace girdle::policy {
namespace {

using testing::AllOf;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;

std::string model_file(const std::string& name) {
  std::ifstream file(std::string(GIRDLE_SOURCE_DIR) + "/tests/corpus/policy/dmn/" + name);
  return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

std::string told(const std::vector<Problem>& problems) {
  std::string all;
  for (const Problem& problem : problems) {
    all += std::to_string(problem.mark.line) + ":" + std::to_string(problem.mark.column) + ": " +
           problem.text + "\n";
  }
  return all;
}

// All that is wrong, when it is read or when it is compiled.
std::string wrong_with(std::string_view xml, std::string_view decision = "") {
  const auto imported = import_dmn(xml, decision);
  if (const auto* problems = std::get_if<std::vector<Problem>>(&imported)) return told(*problems);
  const auto compiled = compile(std::get<ImportedTable>(imported));
  const auto* problems = std::get_if<std::vector<Problem>>(&compiled);
  return problems ? told(*problems) : "";
}

ImportedTable imported(std::string_view xml, std::string_view decision = "") {
  auto result = import_dmn(xml, decision);
  EXPECT_TRUE(std::holds_alternative<ImportedTable>(result)) << wrong_with(xml, decision);
  return std::get<ImportedTable>(std::move(result));
}

Table table_of(std::string_view xml, std::string_view decision = "") {
  auto result = compile(imported(xml, decision));
  EXPECT_TRUE(std::holds_alternative<Table>(result)) << wrong_with(xml, decision);
  return std::get<Table>(std::move(result));
}

// One table with one input x and one output, and what a test puts in.
std::string model(const std::string& table_attributes, const std::string& rules,
                  const std::string& head = "",
                  const std::string& address = "https://www.omg.org/spec/DMN/20211108/MODEL/") {
  return "<definitions xmlns=\"" + address + "\" name=\"m\">" + head +
         "<decision name=\"D\"><decisionTable " + table_attributes +
         "><input><inputExpression "
         "typeRef=\"number\"><text>x</text></inputExpression></input><output/>" +
         rules + "</decisionTable></decision></definitions>";
}

std::string rule(const std::string& when, const std::string& then) {
  return "<rule><inputEntry><text>" + when + "</text></inputEntry><outputEntry><text>" + then +
         "</text></outputEntry></rule>";
}

TEST(DmnImport, ReadsEachVersionByItsNamespace) {
  for (const auto* date : {"20191111", "20211108", "20230324"}) {
    const std::string address = "https://www.omg.org/spec/DMN/" + std::string(date) + "/MODEL/";
    EXPECT_EQ(to_json(table_of(model("", rule("&lt; 3", "1"), "", address))
                          .evaluate(Facts{{"x", number("2")}})),
              R"({"outputs":1,"rules":[1]})");
  }
  EXPECT_THAT(
      wrong_with(model("", rule("-", "1"), "", "http://www.omg.org/spec/DMN/20180521/MODEL/")),
      AllOf(HasSubstr("no DMN of the versions 1.3, 1.4 and 1.5"), HasSubstr("20180521")));
  EXPECT_THAT(wrong_with("<definitions/>"),
              HasSubstr("the outermost element is \"definitions\" of the namespace \"\""));
}

TEST(DmnImport, ReadsTypesAllowedValuesAndAnnotations) {
  const ImportedTable found = imported(model_file("counter.dmn"), "Route");
  ASSERT_EQ(found.facts.size(), 3u);
  EXPECT_EQ(found.facts[1].name, "Stone.carat weight");
  EXPECT_EQ(found.facts[1].type, Type::kNumber);
  ASSERT_EQ(found.spec.inputs.size(), 2u);
  EXPECT_EQ(found.spec.inputs[1].allowed_values, R"("natural", "simulant", "none")");
  EXPECT_EQ(found.spec.outputs[0].type, "string");
  EXPECT_EQ(found.spec.outputs[0].allowed_values, R"("laboratory", "counter")");
  EXPECT_EQ(found.spec.rules[0].note, "dear by the carat");
  EXPECT_EQ(found.spec.rules[1].when[1], R"("natural", "simulant")");
}

TEST(DmnImport, DecidesByWhatItRead) {
  const Table table = table_of(model_file("counter.dmn"), "Route");
  Facts facts{{"Stone.price", number("9000")},
              {"Stone.carat weight", number("1.5")},
              {"Stone.finding", text("none")}};
  EXPECT_EQ(to_json(table.evaluate(facts)), R"({"outputs":"laboratory","rules":[1]})");
  facts["Stone.price"] = number("900");
  EXPECT_EQ(to_json(table.evaluate(facts)), R"({"outputs":null,"rules":[]})");
  facts["Stone.finding"] = text("paste");
  EXPECT_EQ(table.evaluate(facts).error.kind, EvaluationError::Kind::kNotAllowed);
}

TEST(DmnImport, TakesWhatADecisionRequiresForFactsAndReadsDefaults) {
  const Table table = table_of(model_file("counter.dmn"), " Hold  until ");
  EXPECT_THAT(table.fact_names(), ElementsAre("Route", "Taken in"));
  EXPECT_EQ(
      to_json(table.evaluate(Facts{{"Route", text("counter")}, {"Taken in", date("2026-11-20")}})),
      R"({"outputs":{"until":"2026-12-04","days":14},"rules":[1]})");
  EXPECT_EQ(to_json(table.evaluate(Facts{{"Route", text("laboratory")}})),
            R"({"outputs":{"until":null,"days":0},"rules":[]})");
}

// Many modellers write no requirements.
TEST(DmnImport, TakesItsInputsForFactsWhereTheModelRequiresNothing) {
  const Table table = table_of(model_file("prefixed.dmn"));
  EXPECT_THAT(table.fact_names(), ElementsAre("years of service"));
  EXPECT_EQ(to_json(table.evaluate(Facts{{"years of service", number("12")}})),
            R"({"outputs":350.5,"rules":[1,2]})");
  EXPECT_EQ(table.evaluate(Facts{{"years of service", number("61")}}).error.kind,
            EvaluationError::Kind::kNotAllowed);
}

TEST(DmnImport, TellsTheTablesWhereNoneIsChosen) {
  EXPECT_THAT(wrong_with(model_file("counter.dmn")),
              HasSubstr("2:2: say which decision (--decision NAME): its decision tables are "
                        "\"Route\" and \"Hold until\""));
  EXPECT_THAT(wrong_with(model_file("counter.dmn"), "Rout"),
              HasSubstr("there is no decision \"Rout\"; its decision tables"));
  EXPECT_THAT(wrong_with(model_file("counter.dmn"), "Note"),
              HasSubstr("\"Note\" is no decision table; its"));
}

TEST(DmnImport, TellsWhereTheModelIsBeyondWhatIsReadHere) {
  EXPECT_THAT(wrong_with(model_file("broken.dmn")),
              AllOf(HasSubstr("in a circle"), HasSubstr("10:8: there is no type \"colour\"")));
  EXPECT_THAT(wrong_with(model("hitPolicy=\"SOME\"", rule("? &gt; 5", "floor(2)"))),
              AllOf(HasSubstr("unknown hit policy \"SOME\""),
                    HasSubstr("rule 1, input \"x\": cannot read the cell \"? > 5\""),
                    HasSubstr("functions are not supported")));
  EXPECT_THAT(wrong_with(model("expressionLanguage=\"urn:of-our-own\"", rule("-", "1"))),
              HasSubstr("is not FEEL"));
  EXPECT_THAT(wrong_with(model("", "<rule><outputEntry><text>1</text></outputEntry></rule>")),
              HasSubstr("0 cells in \"when\""));
}

TEST(DmnImport, TellsANameThatTheDecisionDoesNotRequire) {
  const std::string xml = model_file("counter.dmn");
  std::string wrong = xml;
  wrong.replace(wrong.find("<text>Stone.finding"), 19, "<text>Stone.fiding");
  EXPECT_THAT(wrong_with(wrong, "Route"),
              HasSubstr("there is no fact \"Stone.fiding\"; did you mean \"Stone.finding\"?"));
}

TEST(DmnImport, RefusesWhatIsNoXmlOrHoldsADocumentType) {
  EXPECT_THAT(wrong_with("<definitions><a></definitions>"), HasSubstr("no well-formed XML"));
  EXPECT_THAT(wrong_with(""), HasSubstr("no well-formed XML"));
  EXPECT_THAT(wrong_with("<!DOCTYPE d [<!ENTITY e SYSTEM \"file:///etc/hostname\">]><d>&e;</d>"),
              HasSubstr("DOCTYPE"));
  EXPECT_THAT(wrong_with("<?xml version=\"1.0\" encoding=\"utf-16\"?><d/>"),
              HasSubstr("not UTF-8"));
  EXPECT_THAT(wrong_with("<d>\xFF</d>"), HasSubstr("not UTF-8"));
}

TEST(DmnImport, IsBounded) {
  std::string deep;
  for (int i = 0; i < 100'000; ++i) deep += "<a>";
  for (int i = 0; i < 100'000; ++i) deep += "</a>";
  EXPECT_THAT(wrong_with(deep), HasSubstr("deeper than 64"));
  EXPECT_THAT(wrong_with(std::string(kMaxDmnBytes + 1, ' ')), HasSubstr("larger than 16 MiB"));
  std::string wide = "<a ";
  for (int i = 0; i < 300; ++i) wide += "a" + std::to_string(i) + "='' ";
  EXPECT_THAT(wrong_with(wide + "/>"), HasSubstr("more than 256 attributes"));
}

TEST(DmnImport, PutsCellsAtTheirPlaces) {
  const std::string problems = wrong_with(
      "<definitions xmlns=\"https://www.omg.org/spec/DMN/20211108/MODEL/\">\n<decision "
      "name=\"é\"><decisionTable>\n<input><inputExpression typeRef=\"number\"><text>x"
      "</text></inputExpression></input><output/>\n<rule><inputEntry><text>é5</text>"
      "</inputEntry><outputEntry><text>1</text></outputEntry></rule></decisionTable>"
      "</decision></definitions>");
  EXPECT_THAT(problems, HasSubstr("4:25: rule 1, input \"x\": cannot read the cell \"é5\""));
  EXPECT_THAT(problems, Not(HasSubstr("output")));
}

}  // namespace
}  // namespace girdle::policy
