#include "intake/backoff.h"

#include <gtest/gtest.h>

namespace girdle::intake {
namespace {

using namespace std::chrono_literals;

TEST(Backoff, DoublesUpToTheMostAndStartsAfreshAfterASuccess) {
  Backoff backoff(250ms, 5s, 0);
  for (const auto pause : {250ms, 500ms, 1000ms, 2000ms, 4000ms, 5000ms, 5000ms})
    EXPECT_EQ(backoff.next(0.7), pause);
  backoff.reset();
  EXPECT_EQ(backoff.next(0), 250ms);
}

TEST(Backoff, LeavesAPartOfThePauseToChance) {
  EXPECT_EQ(Backoff(1000ms, 30s, 0.5).next(0), 1000ms);
  EXPECT_EQ(Backoff(1000ms, 30s, 0.5).next(0.5), 750ms);
  EXPECT_EQ(Backoff(1000ms, 30s, 0.5).next(1), 500ms);
}

}  // namespace
}  // namespace girdle::intake
