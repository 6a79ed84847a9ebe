#include "reading/restart_pause.h"

#include <gtest/gtest.h>

namespace girdle::reading {
namespace {

using std::chrono::milliseconds;

// The pauses are common practice, no source.
TEST(RestartPause, GrowsFromNoneWithEachFailureInARowUpToABound) {
  RestartPause pause;
  SteadyTime now{std::chrono::hours(1)};
  EXPECT_LE(pause.until(), now);
  for (const int expected : {0, 100, 200, 400, 800, 1600, 2000, 2000}) {
    pause.failed(now);
    EXPECT_EQ(pause.until() - now, milliseconds(expected));
    now += std::chrono::minutes(1);
  }
}

TEST(RestartPause, BeginsAnewAfterADocumentThatWentWell) {
  RestartPause pause;
  const SteadyTime now{std::chrono::hours(1)};
  for (int i = 0; i < 5; ++i) pause.failed(now);
  pause.went_well();
  EXPECT_LE(pause.until(), now);
  pause.failed(now);
  EXPECT_EQ(pause.until(), now);
}

}  // namespace
}  // namespace girdle::reading
