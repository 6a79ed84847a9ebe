#include <gtest/gtest.h>

#include "policy/table_builder.h"

namespace girdle::policy {
namespace {

TableSpec spec() {
  TableSpec table = one_column("FIRST", {});
  table.inputs = {{"x", "number"}, {"y", ""}};
  table.rules = {{{"< 3", "1"}, {"1"}}, {{"-", "1"}, {"2"}}, {{"-", "-"}, {"3"}}};
  return table;
}

TEST(Explanation, NamesTheFirstCellThatFailedAndCountsThem) {
  const auto explanation = compiled(spec()).explain(Facts{{"x", number("3")}, {"y", number("2")}});
  ASSERT_EQ(explanation.rules.size(), 3u);
  const RuleTrace& first = explanation.rules[0];
  EXPECT_EQ(first.result, Truth::kFalse);
  EXPECT_EQ(first.column, 1);
  EXPECT_EQ(first.fact, "x");
  EXPECT_EQ(first.value, number("3"));
  EXPECT_EQ(first.cell, "< 3");
  EXPECT_EQ(first.failing, 2);
  EXPECT_EQ(explanation.rules[1].column, 2);
  EXPECT_EQ(explanation.rules[1].failing, 1);
  EXPECT_EQ(explanation.rules[2].result, Truth::kTrue);
  EXPECT_EQ(explanation.rules[2].column, 0);
  EXPECT_EQ(to_json(explanation.decision), R"({"outputs":3,"rules":[3]})");
}

TEST(Explanation, TellsAMissingFactFromOneThatDoesNotFit) {
  const auto missing = compiled(spec()).explain(Facts{{"y", number("1")}});
  EXPECT_EQ(missing.rules[0].result, Truth::kUnknown);
  EXPECT_EQ(missing.rules[1].result, Truth::kTrue);
  const auto unlike = compiled(spec()).explain(Facts{{"x", number("1")}, {"y", text("1")}});
  EXPECT_EQ(unlike.rules[0].result, Truth::kMismatch);
  EXPECT_EQ(unlike.decision.kind, Decision::Kind::kError);
}

TEST(Explanation, IsWrittenAsJson) {
  std::string out;
  base::JsonWriter json(out);
  write_json(json, compiled(one_column("FIRST", {{"< 3", "1"}, {"-", "2"}}))
                       .explain(Facts{{"x", number("3.50")}}));
  EXPECT_EQ(out, R"({"decision":{"outputs":2,"rules":[2]},"rules":[{"rule":1,)"
                 R"("result":"not_matched","column":1,"fact":"x","value":3.5,"cell":"< 3",)"
                 R"("failing":1},{"rule":2,"result":"matched"}]})");
}

}  // namespace
}  // namespace girdle::policy
