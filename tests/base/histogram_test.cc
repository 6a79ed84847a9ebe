#include "base/histogram.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <functional>
#include <thread>
#include <vector>

namespace girdle::base {
namespace {

using std::chrono::hours;
using std::chrono::microseconds;

std::vector<uint64_t> buckets(const Histogram& histogram) {
  std::vector<uint64_t> all;
  for (size_t i = 0; i <= histogram.bounds().size(); ++i) all.push_back(histogram.bucket(i));
  return all;
}

// OpenMetrics 1.0, "Histogram": each bucket covers the values less than or equal to it.
TEST(Histogram, ABucketHasWhatIsAtItsBoundAndNotWhatIsAbove) {
  constexpr std::array<int64_t, 3> bounds = {10, 20, 30};
  Histogram histogram(bounds);
  for (const int us : {0, 10, 11, 20, 21, 30, 31, 1'000'000}) histogram.add(microseconds(us));
  EXPECT_EQ(buckets(histogram), (std::vector<uint64_t>{2, 2, 2, 2}));
  EXPECT_EQ(histogram.sum_us(), 10u + 11 + 20 + 21 + 30 + 31 + 1'000'000);
}

TEST(Histogram, AClockThatWasSetBackTakesNothingAway) {
  Histogram histogram;
  histogram.add(microseconds(-5));
  EXPECT_EQ(histogram.bucket(0), 1u);
  EXPECT_EQ(histogram.sum_us(), 0u);
}

TEST(Histogram, TheLongestWaitHasItsPlace) {
  Histogram histogram(Histogram::kLongBounds);
  histogram.add(hours(24 * 7));
  histogram.add(hours(24 * 365 * 10));
  EXPECT_EQ(histogram.bucket(Histogram::kLongBounds.size() - 1), 1u);
  EXPECT_EQ(histogram.bucket(Histogram::kLongBounds.size()), 1u);
}

TEST(Histogram, BoundsAscend) {
  EXPECT_TRUE(std::ranges::is_sorted(Histogram::kBounds, std::less_equal<>()));
  EXPECT_TRUE(std::ranges::is_sorted(Histogram::kLongBounds, std::less_equal<>()));
  EXPECT_LE(Histogram::kLongBounds.size(), Histogram::kMostBounds);
}

TEST(Histogram, CountsAllWhileAnotherThreadReads) {
  Histogram histogram;
  std::thread reader([&] {
    uint64_t before = 0;
    for (int i = 0; i < 1000; ++i) {
      const uint64_t now = histogram.bucket(0);
      EXPECT_GE(now, before);
      before = now;
    }
  });
  for (int i = 0; i < 100'000; ++i) histogram.add(microseconds(1));
  reader.join();
  EXPECT_EQ(histogram.bucket(0), 100'000u);
  EXPECT_EQ(histogram.sum_us(), 100'000u);
}

TEST(Stopwatch, TellsAtLeastWhatPassed) {
  const Stopwatch watch;
  std::this_thread::sleep_for(std::chrono::milliseconds(2));
  EXPECT_GE(watch.took(), std::chrono::milliseconds(2));
}

}  // namespace
}  // namespace girdle::base
