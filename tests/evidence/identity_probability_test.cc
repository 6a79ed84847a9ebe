#include "evidence/identity_probability.h"

#include <gtest/gtest.h>

#include <cmath>

namespace girdle::evidence {
namespace {

using model::Finding;

// So many that the prior on the counts does not matter.
Answers row(std::initializer_list<double> shares) {
  Answers answers{};
  size_t i = 0;
  for (const double share : shares) answers[i++] = static_cast<int64_t>(share * 1e12);
  return answers;
}

// Sensitivity is how often a laboratory-grown stone is called so, specificity how often a natural
// one is called natural.
ConfusionCounts two_way(double sensitivity, double specificity) {
  ConfusionCounts counts;
  counts.of[0] = row({specificity, 1 - specificity});
  counts.of[1] = row({1 - sensitivity, sensitivity});
  return counts;
}

// Positive predictive values of published examples: Eddy 1982; Rice, Mathematical Statistics and
// Data Analysis; a lecture; a quiz; a homework with National Cancer Institute figures.
TEST(IdentityProbability, AgreesWithPublishedPredictiveValues) {
  const struct {
    double prevalence, sensitivity, specificity, ppv;
  } kCases[] = {{0.01, 0.8, 0.904, 0.078},
                {0.01, 0.8, 0.9, 0.075},
                {0.004, 0.8, 0.9, 0.031},
                {0.001, 0.99, 0.99, 0.090},
                {0.0238, 0.85, 0.95, 0.293}};
  for (const auto& c : kCases) {
    const ConfusionCounts counts = two_way(c.sensitivity, c.specificity);
    const InstrumentRuns runs{&counts, {0, 1, 0, 0, 0, 0}, 0};
    const Priors priors = {1 - c.prevalence, c.prevalence, 0, 0, 0};
    const auto p = identity_probability(Finding::kLaboratoryGrown, priors, {&runs, 1}, 0.95);
    ASSERT_TRUE(p);
    EXPECT_NEAR(p->of[1], c.ppv, 0.0006);
    EXPECT_NEAR(p->of[0] + p->of[1], 1, 1e-12);
  }
}

// lantsandlaminins.com, exercise SS8: 8,910 of 8,920 negatives are true.
TEST(IdentityProbability, AgreesWithAPublishedNegativePredictiveValue) {
  const ConfusionCounts counts = two_way(0.9, 0.9);
  const InstrumentRuns runs{&counts, {1, 0, 0, 0, 0, 0}, 0};
  const auto p = identity_probability(Finding::kNatural, {0.99, 0.01, 0, 0, 0}, {&runs, 1}, 0.95);
  ASSERT_TRUE(p);
  EXPECT_NEAR(p->of[0], 0.9989, 5e-5);
}

// Independent tests one after the other: 1 - (1 - se)(1 - se)(1 - se), epiR rsu.dxtest Example 3
// (brucellosis in dogs). A stone that all three call natural is a miss of all three.
TEST(IdentityProbability, MultipliesInstrumentsAsIndependent) {
  const double se[] = {0.869, 0.873, 0.897};
  std::array<ConfusionCounts, 3> counts;
  std::array<InstrumentRuns, 3> runs;
  for (size_t i = 0; i < 3; ++i) {
    counts[i] = two_way(se[i], 1);
    runs[i] = {&counts[i], {1, 0, 0, 0, 0, 0}, 0};
  }
  const auto p = identity_probability(Finding::kNatural, {0.5, 0.5, 0, 0, 0}, runs, 0.95);
  ASSERT_TRUE(p);
  const double missed_by_all = p->of[1] / p->of[0];
  EXPECT_NEAR(1 - missed_by_all, 0.998, 0.0006);
}

// Kish's design effect.
TEST(EffectiveRuns, RunBetweenOneAndAllOfThem) {
  EXPECT_EQ(effective_runs(5, 0), 5);
  EXPECT_EQ(effective_runs(5, 1), 1);
  EXPECT_EQ(effective_runs(1, 0.5), 1);
  EXPECT_EQ(effective_runs(0, 0.5), 0);
  EXPECT_NEAR(effective_runs(3, 0.5), 1.5, 1e-12);
  EXPECT_LT(effective_runs(1000000, 0.25), 4);
}

TEST(IdentityProbability, TakesRunsThatRepeatEachOtherAsOne) {
  const ConfusionCounts counts = two_way(0.9, 0.9);
  const Priors priors = {0.5, 0.5, 0, 0, 0};
  const InstrumentRuns one{&counts, {1, 0, 0, 0, 0, 0}, 1};
  const InstrumentRuns five{&counts, {5, 0, 0, 0, 0, 0}, 1};
  const auto of_one = identity_probability(Finding::kNatural, priors, {&one, 1}, 0.95);
  const auto of_five = identity_probability(Finding::kNatural, priors, {&five, 1}, 0.95);
  EXPECT_NEAR(of_one->of[0], of_five->of[0], 1e-9);
}

// Monte Carlo stands in for a formula of others: the share of odds drawn from the posterior of the
// counts that lies within the interval.
TEST(IdentityProbability, HasAnIntervalThatNarrowsWithTheCounts) {
  double width = 1;
  for (const int64_t scale : {1, 10, 100, 1000}) {
    ConfusionCounts counts;
    counts.of[0] = {95 * scale, 1 * scale, 0, 0, 0, 4 * scale};
    counts.of[1] = {2 * scale, 90 * scale, 0, 0, 0, 8 * scale};
    const InstrumentRuns runs{&counts, {2, 0, 0, 0, 0, 0}, 0.5};
    const auto p = identity_probability(Finding::kNatural, {0.9, 0.1, 0, 0, 0}, {&runs, 1}, 0.95);
    ASSERT_TRUE(p);
    EXPECT_LT(p->interval.low, p->of[0]);
    EXPECT_GT(p->interval.high, p->of[0]);
    EXPECT_LT(p->interval.high - p->interval.low, width);
    width = p->interval.high - p->interval.low;
  }
}

TEST(IdentityProbability, GivesNoNumberWhereSomethingIsNotKnown) {
  const ConfusionCounts counts = two_way(0.9, 0.9);
  const Priors two = {0.5, 0.5, 0, 0, 0}, three = {0.5, 0.4, 0.1, 0, 0};
  const InstrumentRuns known{&counts, {1, 0, 0, 0, 0, 0}, 0}, unknown{nullptr, {1}, 0};
  const InstrumentRuns idle{nullptr, {}, 0};
  const InstrumentRuns with_unknown[] = {known, unknown}, with_idle[] = {known, idle};
  const auto natural = Finding::kNatural;
  EXPECT_TRUE(identity_probability(natural, two, {&known, 1}, 0.95));
  EXPECT_TRUE(identity_probability(natural, two, with_idle, 0.95));
  EXPECT_FALSE(identity_probability(natural, three, {&known, 1}, 0.95)) << "never saw a treated one";
  EXPECT_FALSE(identity_probability(natural, two, with_unknown, 0.95));
  EXPECT_FALSE(identity_probability(natural, two, {&idle, 1}, 0.95)) << "nothing was measured";
  EXPECT_FALSE(identity_probability(natural, two, {}, 0.95));
}

}  // namespace
}  // namespace girdle::evidence
