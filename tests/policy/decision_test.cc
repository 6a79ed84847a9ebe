#include "policy/decision.h"

#include <gtest/gtest.h>

#include "policy/table_builder.h"

namespace girdle::policy {
namespace {

TableSpec two_outputs(std::string hit_policy) {
  auto spec = one_column(std::move(hit_policy), {});
  spec.outputs = {{"disposition", "string"}, {"weight", "number"}};
  spec.rules = {{{"> 1"}, {"\"hold\"", "0.50"}}, {{"> 2"}, {"\"refer\"", "null"}}};
  return spec;
}

// The three forms of the design's contract for decision table files.
TEST(Decision, IsWrittenAsAnObjectOfItsOutputs) {
  EXPECT_EQ(decide(two_outputs("FIRST"), {{"x", number("2")}}),
            R"({"outputs":{"disposition":"hold","weight":0.5},"rules":[1]})");
}

TEST(Decision, OfAListIsWrittenAsAListOfSuch) {
  EXPECT_EQ(decide(two_outputs("RULE ORDER"), {{"x", number("3")}}),
            R"([{"outputs":{"disposition":"hold","weight":0.5},"rules":[1]},)"
            R"({"outputs":{"disposition":"refer","weight":null},"rules":[2]}])");
}

TEST(Decision, ThatCouldNotBeMadeIsWrittenAsAnError) {
  EXPECT_EQ(decide(two_outputs("UNIQUE"), {{"x", number("3")}}),
            R"({"error":{"kind":"overlap","rules":[1,2],)"
            R"("text":"more than one rule matches, and the hit policy is UNIQUE"}})");
}

TEST(Decision, FindsAnOutputByName) {
  const Decision decision = compiled(two_outputs("FIRST")).evaluate(Facts{{"x", number("2")}});
  ASSERT_NE(decision.output("disposition"), nullptr);
  EXPECT_EQ(*decision.output("disposition"), text("hold"));
  EXPECT_EQ(decision.output("reason"), nullptr);
  EXPECT_EQ(compiled(two_outputs("FIRST")).evaluate(Facts{{"x", number("1")}}).output("weight"),
            nullptr);
}

TEST(Decision, OutlivesItsTable) {
  Decision decision;
  {
    const Table table = compiled(two_outputs("FIRST"));
    decision = table.evaluate(Facts{{"x", number("2")}});
  }
  EXPECT_EQ(to_json(decision), R"({"outputs":{"disposition":"hold","weight":0.5},"rules":[1]})");
}

}  // namespace
}  // namespace girdle::policy
