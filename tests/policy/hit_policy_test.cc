// DMN 1.5 clause 8.2.10 item 7; the tables' behaviour is in table_test.cc.
#include "policy/hit_policy.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "policy/values.h"

namespace girdle::policy {
namespace {

using testing::HasSubstr;

TEST(HitPolicy, IsReadFromTheStandardsWords) {
  for (const auto* name :
       {"UNIQUE", "ANY", "PRIORITY", "FIRST", "COLLECT", "RULE ORDER", "OUTPUT ORDER"}) {
    const auto policy = hit_policy_named(name);
    ASSERT_TRUE(policy.ok()) << name;
    EXPECT_EQ(name_of(*policy), name);
  }
}

TEST(HitPolicy, RefusesOtherWordsAndNamesThePossibleOnes) {
  const auto policy = hit_policy_named("First");
  ASSERT_FALSE(policy.ok());
  EXPECT_THAT(policy.error().text, HasSubstr("\"First\""));
  EXPECT_THAT(policy.error().text, HasSubstr("COLLECT, RULE ORDER or OUTPUT ORDER"));
  const auto aggregation = aggregation_named("AVG");
  ASSERT_FALSE(aggregation.ok());
  EXPECT_THAT(aggregation.error().text, HasSubstr("SUM, MIN, MAX or COUNT"));
}

TEST(Aggregation, CountsEqualOutputsEach) {
  const std::vector<Value> outputs = {number("5"), number("5"), number("2.50")};
  EXPECT_EQ(aggregated(Aggregation::kSum, outputs), base::Decimal::parse("12.5"));
  EXPECT_EQ(aggregated(Aggregation::kCount, outputs), base::Decimal(3));
  EXPECT_EQ(aggregated(Aggregation::kMin, outputs), base::Decimal::parse("2.5"));
  EXPECT_EQ(aggregated(Aggregation::kMax, outputs), base::Decimal(5));
}

// 10.3.2.3.1: decimals, not binary fractions.
TEST(Aggregation, AddsDecimalsExactly) {
  EXPECT_EQ(aggregated(Aggregation::kSum, std::vector<Value>{number("0.1"), number("0.2")}),
            base::Decimal::parse("0.3"));
}

TEST(Aggregation, GivesNothingWhereItWouldHaveToGuess) {
  EXPECT_EQ(aggregated(Aggregation::kSum, std::vector<Value>{number("1"), Value()}), std::nullopt);
  EXPECT_EQ(aggregated(Aggregation::kMax, std::vector<Value>{text("1")}), std::nullopt);
  const std::vector<Value> far_apart = {number("1e40"), number("1e-40")};
  EXPECT_EQ(aggregated(Aggregation::kSum, far_apart), std::nullopt);
}

}  // namespace
}  // namespace girdle::policy
