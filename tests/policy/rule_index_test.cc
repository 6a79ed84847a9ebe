#include "policy/rule_index.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "policy/table_builder.h"

namespace girdle::policy {
namespace {

// Tables above the size from which rules are indexed, of numbers, texts, names, negations, lists and missing facts.
class RandomTable {
 public:
  explicit RandomTable(std::mt19937& random) : random_(random) {
    constexpr std::array kHitPolicies = {"FIRST", "UNIQUE", "COLLECT", "RULE ORDER"};
    spec.hit_policy = kHitPolicies[static_cast<size_t>(pick(4))];
    is_typed_ = pick(3) > 0;
    is_sparse_ = pick(2) == 0;
    spec.inputs = {{"a", is_typed_ ? "number" : ""}, {"b", is_typed_ ? "number" : ""}, {"c", "string"}};
    spec.outputs.resize(1);
    spec.outputs[0].name = "o";
    // More ends than there are stretches, now and then.
    span_ = pick(3) == 0 ? 5000 : 40;
    for (int i = 0, rules = 64 + pick(900); i < rules; ++i) {
      spec.rules.push_back({{number_cell(), number_cell(), text_cell()}, {std::to_string(i)}});
    }
  }

  std::vector<Value> facts() {
    const auto number = [&] {
      if (pick(12) == 0) return Value();
      if (!is_typed_ && pick(12) == 0) return Value(word());  // does not compare with numbers
      return Value(*base::Decimal::make(pick(span_ * 10), -1));
    };
    return {number(), number(), pick(12) == 0 ? Value() : Value(word())};
  }

  TableSpec spec;

 private:
  int pick(int below) { return static_cast<int>(random_() % static_cast<unsigned>(below)); }
  std::string number() { return std::to_string(pick(span_)) + (pick(4) == 0 ? ".5" : ""); }
  std::string word() { return std::string(1, static_cast<char>('a' + pick(9))); }

  std::string number_cell() {
    const int low = pick(span_), high = low + pick(span_);
    if (is_sparse_) return number();
    switch (pick(9)) {
      case 0: return "-";
      case 1: return "< " + number();
      case 2: return ">= " + number();
      case 3: return "[" + std::to_string(low) + ".." + std::to_string(high + 1) + ")";
      case 4: return "(" + std::to_string(low) + ".." + std::to_string(high + 1) + "]";
      case 5: return number() + ", " + number() + ", > " + number();
      case 6: return "not(" + number() + ")";
      case 7: return pick(2) ? "b" : "!= " + number();
      default: return pick(6) == 0 ? "null" : number();
    }
  }
  std::string text_cell() {
    switch (is_sparse_ ? 4 : pick(5)) {
      case 0: return "-";
      case 1: return "\"" + word() + "\", \"" + word() + "\"";
      case 2: return "not(\"" + word() + "\")";
      case 3: return ">= \"" + word() + "\"";
      default: return "\"" + word() + "\"";
    }
  }

  std::mt19937& random_;
  int span_ = 40;
  bool is_typed_ = true;
  bool is_sparse_ = false;  // few rules match
};

// Explaining looks at every rule, without the index.
TEST(RuleIndex, ChangesNoDecision) {
  std::mt19937 random(11);
  int decided = 0, errors = 0, none = 0;
  for (int round = 0; round < 120; ++round) {
    RandomTable of(random);
    const Table table = compiled(of.spec);
    for (int i = 0; i < 100; ++i) {
      const std::vector<Value> facts = of.facts();
      const Decision decision = table.evaluate(facts);
      const Explanation all = table.explain(facts);
      std::vector<int> matched;
      bool mismatched = false;
      for (const RuleTrace& trace : all.rules) {
        if (trace.result == Truth::kMismatch && !(of.spec.hit_policy == "FIRST" && !matched.empty())) mismatched = true;
        if (trace.result == Truth::kTrue) matched.push_back(trace.rule);
      }
      if (mismatched) {
        EXPECT_EQ(decision.kind, Decision::Kind::kError);
        ++errors;
        continue;
      }
      if (matched.empty()) {
        EXPECT_EQ(decision.kind, Decision::Kind::kNoRule);
        ++none;
        continue;
      }
      ++decided;
      if (of.spec.hit_policy == "FIRST") matched.resize(1);
      EXPECT_EQ(decision.rules, matched) << of.spec.hit_policy;
    }
  }
  EXPECT_GT(decided, 3000);
  EXPECT_GT(none, 20);
  EXPECT_GT(errors, 200);
}

TEST(RuleIndex, IsNotThereForSmallTables) {
  const RuleIndex index(RuleIndex::kLeastRules - 1, {}, {});
  EXPECT_FALSE(index.is_there());
}

TEST(RuleIndex, LeavesOutWhatCertainlyDoesNotMatch) {
  std::vector<UnaryTest> tests;
  for (int i = 0; i < 1000; ++i) tests.push_back(*UnaryTest::parse("[" + std::to_string(i) + ".." + std::to_string(i + 1) + ")"));
  std::vector<RuleIndex::Cell> cells;
  for (size_t i = 0; i < tests.size(); ++i) cells.push_back({i, 0, 0, &tests[i]});
  const std::optional<Type> types[] = {Type::kNumber};
  const RuleIndex index(tests.size(), cells, types);
  const auto candidates = [&](Value value) {
    std::vector<size_t> rules;
    index.each_candidate(std::span(&value, 1), [&](size_t rule) { return rules.push_back(rule), true; });
    return rules;
  };
  const auto near_500 = candidates(Value(base::Decimal(500)));
  EXPECT_LE(near_500.size(), 5u);
  EXPECT_TRUE(std::ranges::find(near_500, 500u) != near_500.end());
  EXPECT_EQ(candidates(Value()).size(), 1000u) << "what is missing leaves nothing out";
  EXPECT_EQ(candidates(Value(std::string("x"))).size(), 1000u);
}

}  // namespace
}  // namespace girdle::policy
