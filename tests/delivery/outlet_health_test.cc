#include "delivery/outlet_health.h"

#include <gtest/gtest.h>

namespace girdle::delivery {
namespace {

using base::Millis;

const base::Instant kNow = base::from_millis(1'000'000);

TEST(OutletHealth, TellsOfAChangeOnce) {
  OutletHealth health(4);
  EXPECT_TRUE(health.failed(kNow, Millis(0)));
  EXPECT_FALSE(health.failed(kNow, Millis(0)));
  EXPECT_TRUE(health.failing());
  EXPECT_TRUE(health.worked());
  EXPECT_FALSE(health.worked());
  EXPECT_FALSE(health.failing());
}

TEST(OutletHealth, TellsOfAReceiverThatComesAndGoesAtMostOnceAMinute) {
  OutletHealth health(4);
  int told = 0;
  for (int i = 0; i < 600; ++i) {
    told += health.failed(kNow + Millis(100 * i), Millis(0));
    told += health.worked();
  }
  EXPECT_EQ(told, 2);
  EXPECT_TRUE(health.failed(kNow + OutletHealth::kQuiet, Millis(0)));
}

TEST(OutletHealth, TriesOneAtATimeWithGrowingPausesAfterManyFailures) {
  OutletHealth health(4);
  for (int i = 0; i < 3; ++i) health.failed(kNow, Millis(0));
  EXPECT_FALSE(health.one_at_a_time());
  EXPECT_FALSE(health.paused(kNow));
  health.failed(kNow, Millis(0));
  EXPECT_TRUE(health.one_at_a_time());
  EXPECT_EQ(health.pause_until(), kNow + OutletHealth::kFirstPause);
  health.failed(kNow, Millis(0));
  EXPECT_EQ(health.pause_until(), kNow + 2 * OutletHealth::kFirstPause);
  for (int i = 0; i < 100; ++i) health.failed(kNow, Millis(0));
  EXPECT_EQ(health.pause_until(), kNow + OutletHealth::kLongestPause);
  health.worked();
  EXPECT_FALSE(health.one_at_a_time());
  EXPECT_FALSE(health.paused(kNow));
}

TEST(OutletHealth, LeavesAReceiverAloneThatAsksForIt) {
  OutletHealth health(4);
  health.failed(kNow, Millis(30000));
  EXPECT_EQ(health.pause_until(), kNow + Millis(30000));
  health.worked();  // an attempt that was under way
  EXPECT_TRUE(health.paused(kNow));
  health.failed(kNow, std::chrono::hours(24));
  EXPECT_EQ(health.pause_until(), kNow + OutletHealth::kLongestAsked);
}

}  // namespace
}  // namespace girdle::delivery
