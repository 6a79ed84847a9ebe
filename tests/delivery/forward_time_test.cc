#include "delivery/forward_time.h"

#include <gtest/gtest.h>

#include "delivery/outlet_rate.h"

namespace girdle::delivery {
namespace {

using base::Millis;
using std::chrono::hours;
using std::chrono::seconds;

const base::Instant kStart = base::from_millis(1793614530000);  // 2026-11-02T10:15:30Z

TEST(ForwardTime, IsTheWallClocksWhileNobodySetsIt) {
  base::ManualClock clock(kStart);
  ForwardTime time(clock);
  clock.advance(seconds(90));
  EXPECT_EQ(time.now(), kStart + seconds(90));
}

TEST(ForwardTime, GoesOnEvenlyWhereTheClockIsSetBack) {
  base::ManualClock clock(kStart);
  ForwardTime time(clock);
  clock.advance(seconds(10));
  clock.set(kStart - hours(3));
  EXPECT_EQ(time.now(), kStart + seconds(10));
  clock.advance(seconds(5));
  EXPECT_EQ(time.now(), kStart + seconds(15));
  clock.set(kStart - hours(9));
  clock.advance(seconds(1));
  EXPECT_EQ(time.now(), kStart + seconds(16));
}

TEST(ForwardTime, FollowsAClockThatIsSetForward) {
  base::ManualClock clock(kStart);
  ForwardTime time(clock);
  clock.set(kStart + hours(3));
  EXPECT_EQ(time.now(), kStart + hours(3));
}

TEST(ForwardTime, NeverGoesBackWhereANetworkPullsTheClockGently) {
  base::ManualClock clock(kStart);
  ForwardTime time(clock);
  for (int i = 0; i < 1000; ++i) {
    const auto before = time.now();
    clock.advance(Millis(100));
    clock.set(clock.now() - Millis(50));
    ASSERT_GE(time.now(), before);
  }
  EXPECT_LE(time.now(), kStart + Millis(100'000));
}

TEST(OutletRate, SpreadsAttemptsEvenly) {
  OutletRate rate(90);  // one in 666.67 ms
  base::Instant now = kStart;
  int64_t waited = 0;
  for (int i = 0; i < 90; ++i) {
    EXPECT_LE(rate.next(), now);
    rate.count(now);
    waited += (rate.next() - now).count();
    now = rate.next();
  }
  EXPECT_EQ(waited, 60'000);
}

TEST(OutletRate, DoesNotSaveUpWhatWasNotUsed) {
  OutletRate rate(60);
  rate.count(kStart);
  rate.count(kStart + hours(1));
  EXPECT_EQ(rate.next(), kStart + hours(1) + seconds(1));
}

TEST(OutletRate, IsNoLimitUnlessOneIsGiven) {
  OutletRate rate(0);
  rate.count(kStart);
  EXPECT_LE(rate.next(), kStart);
}

}  // namespace
}  // namespace girdle::delivery
