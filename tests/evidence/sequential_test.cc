#include "evidence/sequential.h"

#include <gtest/gtest.h>

#include <cmath>

namespace girdle::evidence {
namespace {

using model::Finding;

// A. Wald's bounds; numbers of the published values for three pairs of limits.
TEST(WaldBounds, AgreeWithPublishedValues) {
  const struct {
    double miss, false_alarm, upper, lower;
  } kCases[] = {{0.05, 0.10, 2.8904, -2.2513},
                {0.05, 0.20, 2.7726, -1.5581},
                {0.01, 0.01, 4.5951, -4.5951}};
  for (const auto& c : kCases) {
    const WaldBounds bounds = wald_bounds({c.miss, c.false_alarm});
    EXPECT_NEAR(bounds.declared, c.upper, 5e-5);
    EXPECT_NEAR(bounds.other, c.lower, 5e-5);
  }
}

// Item-by-item sequential sampling is the same test: with p1 = 0.01, p2 = 0.1, alpha 0.05 and beta
// 0.1, a lot without a defective is accepted from item 24 on (NIST/SEMATECH e-Handbook 6.2.6).
// Natural stones are called otherwise in 1 of 100 runs, laboratory-grown ones are caught in 10 of
// 100: as many runs that say natural must agree. The counts are large, so that the prior on them
// does not matter.
TEST(SequentialTest, AsksForAsManyRunsAsTheHandbooksPlan) {
  ConfusionCounts counts;
  counts.of[0] = {99'000'000'000, 1'000'000'000, 0, 0, 0, 0};
  counts.of[1] = {90'000'000'000, 10'000'000'000, 0, 0, 0, 0};
  const Priors priors = {0.5, 0.5, 0, 0, 0};
  InstrumentRuns runs{&counts, {1, 0, 0, 0, 0, 0}, 0};
  // In the plan, alpha is of rejecting the good lot and beta of accepting the bad one.
  const ErrorLimits limits{0.10, 0.05};
  auto test = sequential_test(Finding::kNatural, priors, {&runs, 1}, limits);
  ASSERT_TRUE(test);
  EXPECT_EQ(test->state, SequentialState::kUndecided);
  EXPECT_EQ(test->more_runs, 23);
  runs.runs[0] = 24;
  test = sequential_test(Finding::kNatural, priors, {&runs, 1}, limits);
  EXPECT_EQ(test->state, SequentialState::kDeclared);
  EXPECT_EQ(test->more_runs, 0);
  // The plan rejects two defectives among the first two.
  runs.runs = {0, 2, 0, 0, 0, 0};
  test = sequential_test(Finding::kNatural, priors, {&runs, 1}, limits);
  EXPECT_EQ(test->state, SequentialState::kOther);
}

// Duncan, Quality Control and Industrial Statistics, Table R, as second-hand: runs until acceptance
// when no item is defective, the column ASN(0), is the same question.
TEST(SequentialTest, AgreesWithTableR) {
  const struct {
    double p1, p2;
    int runs;
  } kRows[] = {{0.02, 0.10, 27}, {0.02, 0.08, 36}, {0.015, 0.06, 49}, {0.01, 0.08, 31}};
  for (const auto& row : kRows) {
    ConfusionCounts counts;
    const double n = 1e12;
    counts.of[0] = {static_cast<int64_t>(n * (1 - row.p1)), static_cast<int64_t>(n * row.p1), 0, 0, 0, 0};
    counts.of[1] = {static_cast<int64_t>(n * (1 - row.p2)), static_cast<int64_t>(n * row.p2), 0, 0, 0, 0};
    InstrumentRuns runs{&counts, {1, 0, 0, 0, 0, 0}, 0};
    const auto test = sequential_test(Finding::kNatural, {0.5, 0.5, 0, 0, 0}, {&runs, 1}, {0.10, 0.05});
    ASSERT_TRUE(test && test->more_runs);
    // The table rounds a number that is not whole.
    EXPECT_NEAR(1 + *test->more_runs, row.runs, 1) << row.p1 << " " << row.p2;
  }
}

TEST(SequentialTest, SaysSoWhereNoNumberOfRunsIsEnough) {
  ConfusionCounts counts;
  counts.of[0] = {95, 0, 0, 0, 0, 5};
  counts.of[1] = {60, 10, 0, 0, 0, 30};
  InstrumentRuns runs{&counts, {1, 0, 0, 0, 0, 0}, 0.5};  // never more than two runs' worth
  const auto test = sequential_test(Finding::kNatural, {0.9, 0.1, 0, 0, 0}, {&runs, 1}, {});
  ASSERT_TRUE(test);
  EXPECT_EQ(test->more_runs, std::nullopt);
}

TEST(SequentialTest, GivesNothingForAnInstrumentWithoutCounts) {
  InstrumentRuns runs{nullptr, {1, 0, 0, 0, 0, 0}, 0};
  EXPECT_EQ(sequential_test(Finding::kNatural, {0.5, 0.5, 0, 0, 0}, {&runs, 1}, {}), std::nullopt);
}

}  // namespace
}  // namespace girdle::evidence
