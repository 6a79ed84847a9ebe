// The default policy's rules, one by one (the design's table; common practice, no source), and
// promise 7 over all facts: nothing releases a stone as natural but a natural finding inside scope,
// measured often enough, on a fit instrument, declared so or not at all.
#include "policy/default_policy.h"

#include <gtest/gtest.h>

#include "policy/table_builder.h"

namespace girdle::policy {
namespace {

struct Expected {
  int rule;
  std::vector<Value> facts;
};

TEST(DefaultPolicy, EachRuleIsReachedByTheCaseItIsFor) {
  const auto facts = default_policy_facts;
  const std::vector<Expected> cases = {
      {1, facts("natural", 2, 0, "in", "unfit", "natural", 2)},
      {2, facts("none", 0, 2, "unknown", "fit", "none", 2)},
      {3, facts("none", 0, 3, "unknown", "fit", "none", 2)},
      {4, facts("mixed", 2, 0, "in", "fit", "natural", 2)},
      {5, facts("natural", 2, 0, "out", "fit", "natural", 2)},
      {6, facts("natural", 1, 0, "in", "fit", "natural", 2)},
      {7, facts("indeterminate", 2, 0, "in", "fit", "natural", 2)},
      {8, facts("simulant", 2, 0, "in", "fit", "simulant", 2)},
      {9, facts("simulant", 2, 0, "in", "fit", "natural", 2)},
      {10, facts("treated", 2, 0, "in", "fit", "treated", 2)},
      {11, facts("laboratory_grown", 2, 0, "in", "fit", "natural", 2)},
      {12, facts("natural", 2, 0, "in", "fit", "none", 2)},
      {13, facts("natural", 2, 0, "unknown", "unknown", "natural", 2)},
      {14, facts("natural", 2, 0, "in", "fit", "laboratory_grown", 2)},
  };
  const Table table = compiled(default_policy_spec());
  for (const Expected& expected : cases) {
    const Decision decision = table.evaluate(expected.facts);
    ASSERT_EQ(decision.kind, Decision::Kind::kDecided) << to_json(decision);
    EXPECT_EQ(decision.rules, std::vector<int>{expected.rule});
  }
}

TEST(DefaultPolicy, ReleasesAsNaturalOnlyWhatItMay) {
  const Table table = compiled(default_policy_spec());
  int released = 0;
  for (const char* finding : {"natural", "laboratory_grown", "treated", "composite", "simulant",
                              "indeterminate", "mixed", "none"}) {
    for (const char* scope : {"in", "out", "unknown"}) {
      for (const char* instrument : {"fit", "unfit", "unknown"}) {
        for (const char* declared : {"natural", "laboratory_grown", "simulant", "none"}) {
          for (int valid = 0; valid < 4; ++valid) {
            const Decision decision = table.evaluate(
                default_policy_facts(finding, valid, 0, scope, instrument, declared));
            ASSERT_EQ(decision.kind, Decision::Kind::kDecided);
            const bool natural =
                std::string(declared) == "natural" || std::string(declared) == "none";
            if (*decision.output("disposition") != text("release") || !natural) continue;
            ++released;
            EXPECT_EQ(std::string(finding), "natural");
            EXPECT_EQ(std::string(scope), "in");
            EXPECT_NE(std::string(instrument), "unfit");
            EXPECT_GE(valid, 2);
          }
        }
      }
    }
  }
  EXPECT_EQ(released, 2 * 2 * 2);  // declared, instrument, valid
}

TEST(DefaultPolicy, DecidesNothingFromAMissingFact) {
  const Table table = compiled(default_policy_spec());
  auto facts = default_policy_facts("natural", 2, 0, "in", "fit", "natural");
  for (size_t i = 0; i < 6; ++i) {
    auto without = facts;
    without[i] = Value();
    EXPECT_EQ(table.evaluate(without).kind, Decision::Kind::kError) << table.fact_names()[i];
  }
}

}  // namespace
}  // namespace girdle::policy
