#include "evidence/proportion.h"

#include <gtest/gtest.h>

#include <cmath>

namespace girdle::evidence {
namespace {

// NIST/SEMATECH e-Handbook 7.2.4.1: 26 of 200, one-sided at 95 %.
TEST(WilsonInterval, AgreesWithTheHandbook) {
  EXPECT_NEAR(wilson_interval(26, 200, 0.90).low, 0.09577, 5e-6);
}

// NIST/SEMATECH e-Handbook 7.2.4.1: 4 of 20, two-sided at 90 %.
TEST(ExactInterval, AgreesWithTheHandbook) {
  const Interval interval = exact_interval(4, 20, 0.90);
  EXPECT_NEAR(interval.low, 0.071354, 1e-6);
  EXPECT_NEAR(interval.high, 0.401029, 1e-6);
}

// The rule of three and its relatives (Rümke): 3/n, 3.51/n, 4.61/n, 5.30/n; to half a per cent.
TEST(UpperLimit, OfNoneFollowsTheRuleOfThree) {
  EXPECT_NEAR(upper_limit(0, 1500, 0.95), 0.002, 0.00001);
  EXPECT_NEAR(upper_limit(0, 300, 0.95), 0.01, 0.0001);
  const double n = 100000;
  EXPECT_NEAR(upper_limit(0, 100000, 0.97) * n, 3.51, 0.005);
  EXPECT_NEAR(upper_limit(0, 100000, 0.99) * n, 4.61, 0.006);
  EXPECT_NEAR(upper_limit(0, 100000, 0.995) * n, 5.30, 0.003);
}

// 1 - 0.05^(1/200), a closed form.
TEST(UpperLimit, OfNoneIsTheClosedForm) {
  EXPECT_NEAR(upper_limit(0, 200, 0.95), 1 - std::pow(0.05, 1.0 / 200), 1e-12);
}

TEST(UpperLimit, IsNeverZeroAndNeverAboveOne) {
  for (const int64_t n : {1, 2, 10, 1000, 1000000}) {
    EXPECT_GT(upper_limit(0, n, 0.95), 0);
    EXPECT_EQ(upper_limit(n, n, 0.95), 1);
  }
}

TEST(Intervals, KnowNothingWithoutATrial) {
  for (const Interval& interval : {wilson_interval(0, 0, 0.95), exact_interval(0, 0, 0.95)}) {
    EXPECT_EQ(interval.low, 0);
    EXPECT_EQ(interval.high, 1);
  }
  EXPECT_EQ(upper_limit(0, 0, 0.95), 1);
}

TEST(Intervals, HoldTheirProportionAndAreSymmetric) {
  for (int64_t n = 1; n <= 40; ++n) {
    for (int64_t hits = 0; hits <= n; ++hits) {
      const double p = static_cast<double>(hits) / static_cast<double>(n);
      const Interval exact = exact_interval(hits, n, 0.95);
      const Interval wilson = wilson_interval(hits, n, 0.95);
      EXPECT_LE(exact.low, p);
      EXPECT_GE(exact.high, p);
      EXPECT_LE(wilson.low, p);
      EXPECT_GE(wilson.high, p);
      EXPECT_NEAR(exact.low, 1 - exact_interval(n - hits, n, 0.95).high, 1e-12);
      EXPECT_NEAR(wilson.low, 1 - wilson_interval(n - hits, n, 0.95).high, 1e-12);
    }
  }
}

}  // namespace
}  // namespace girdle::evidence
