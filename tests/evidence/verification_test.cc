#include "evidence/verification.h"

#include <gtest/gtest.h>

namespace girdle::evidence {
namespace {

// The core sample of the trade's test programme: 1,000 natural and 200 laboratory-grown stones. The
// definitions: natural said to be natural of all natural; natural referred of all natural;
// laboratory-grown said to be natural of all laboratory-grown (public descriptions of it).
ConfusionCounts core_sample() {
  ConfusionCounts counts;
  counts.of[0] = {962, 3, 0, 0, 0, 35};
  counts.of[1] = {0, 188, 0, 0, 0, 12};
  return counts;
}

TEST(Verification, KeepsToTheTradesDefinitions) {
  const Verification v = verification(core_sample(), 0.95);
  EXPECT_EQ(v.accuracy.hits, 962);
  EXPECT_EQ(v.accuracy.trials, 1000);
  EXPECT_EQ(v.referral.hits, 35);
  EXPECT_EQ(v.wrongly_suspected.hits, 3);
  EXPECT_EQ(v.miss.hits, 0);
  EXPECT_EQ(v.miss.trials, 200);
  EXPECT_EQ(v.accuracy.hits + v.referral.hits + v.wrongly_suspected.hits, 1000);
}

// 1 - 0.05^(1/200) = 1.49 %.
TEST(Verification, NeverShowsNoneAsZero) {
  const Verification v = verification(core_sample(), 0.95);
  EXPECT_NEAR(v.miss.upper, 0.0149, 0.00005);
  EXPECT_EQ(in_words(v.miss), "none of 200 (at most 1.5 %)");
}

TEST(InWords, RoundsAwayFromTheProportion) {
  EXPECT_EQ(in_words({3, 200, {0.00310, 0.04312}, 1}), "3 of 200 (1.5 %; 0.3 % to 4.4 %)");
  EXPECT_EQ(in_words({0, 0, {}, 1}), "not tested");
}

}  // namespace
}  // namespace girdle::evidence
