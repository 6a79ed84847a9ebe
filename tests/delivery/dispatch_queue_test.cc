#include "delivery/dispatch_queue.h"

#include <gtest/gtest.h>

#include <algorithm>

namespace girdle::delivery {
namespace {

const base::Instant kNow = base::from_millis(1'000'000);
constexpr auto kNever = base::Instant::max();

model::Delivery head(int64_t id, base::Instant due = kNow) {
  model::Delivery delivery;
  delivery.id = id;
  delivery.due = due;
  return delivery;
}

std::vector<model::Delivery> heads(int64_t from, size_t count) {
  std::vector<model::Delivery> out;
  for (size_t i = 0; i < count; ++i) out.push_back(head(from + static_cast<int64_t>(i)));
  return out;
}

// A queue that has asked the ledger and found nothing.
DispatchQueue asked() {
  DispatchQueue queue;
  queue.begin_load();
  queue.end_load({}, kNever, kNow);
  return queue;
}

TEST(DispatchQueue, AsksTheLedgerFirst) {
  DispatchQueue queue;
  EXPECT_FALSE(queue.idle(kNow));
  EXPECT_TRUE(queue.wants_load(kNow));
  EXPECT_TRUE(queue.begin_load().empty());
  EXPECT_FALSE(queue.wants_load(kNow));
  queue.end_load({}, kNever, kNow);
  EXPECT_TRUE(queue.idle(kNow));
}

TEST(DispatchQueue, TakesADeliveryOnceUntilItIsReleased) {
  DispatchQueue queue = asked();
  queue.offer(head(7), kNow);
  queue.offer(head(7), kNow);
  EXPECT_EQ(queue.size(), 1u);
  EXPECT_EQ(queue.take().id, 7);
  queue.offer(head(7), kNow);
  EXPECT_TRUE(queue.empty());
  EXPECT_FALSE(queue.idle(kNow));
  queue.release(7);
  EXPECT_TRUE(queue.idle(kNow));
  queue.offer(head(7), kNow);
  EXPECT_EQ(queue.size(), 1u);
}

TEST(DispatchQueue, NamesWhatItHoldsWhenItAsks) {
  DispatchQueue queue = asked();
  queue.offer(head(1), kNow);
  queue.offer(head(2), kNow);
  queue.take();
  queue.expect_more();
  auto except = queue.begin_load();
  std::sort(except.begin(), except.end());
  EXPECT_EQ(except, (std::vector<int64_t>{1, 2}));
}

// A load may read before a mark commits and answer after it.
TEST(DispatchQueue, DoesNotTakeBackWhatWasMarkedDuringALoad) {
  DispatchQueue queue = asked();
  queue.expect_more();
  queue.begin_load();
  queue.offer(head(3), kNow);
  queue.take();
  queue.release(3);
  queue.end_load(heads(3, 2), kNever, kNow);
  ASSERT_EQ(queue.size(), 1u);
  EXPECT_EQ(queue.take().id, 4);
}

TEST(DispatchQueue, DropsWhatIsBeyondItsBoundAndAsksLater) {
  DispatchQueue queue = asked();
  for (auto& one : heads(1, DispatchQueue::kMost + 50)) queue.offer(std::move(one), kNow);
  EXPECT_EQ(queue.size(), DispatchQueue::kMost);
  EXPECT_TRUE(queue.wants_load(kNow));
}

TEST(DispatchQueue, HoldsABoundedNumberOfEachLane) {
  DispatchQueue queue = asked();
  for (auto& one : heads(1, 3000)) queue.offer(std::move(one), kNow);
  for (auto& one : heads(3001, 3000)) queue.follow(std::move(one), kNow);
  EXPECT_EQ(queue.size(), 2 * DispatchQueue::kMost);
  queue.expect_more();
  EXPECT_FALSE(queue.wants_load(kNow));
  while (!queue.wants_load(kNow)) queue.release(queue.take().id);
  EXPECT_GE(queue.size(), DispatchQueue::kLow - 1);
}

// A backlog must not starve what is decided now, nor the other way round.
TEST(DispatchQueue, TakesTurnsBetweenWhatIsFreshAndTheBacklog) {
  DispatchQueue queue;
  queue.begin_load();
  queue.end_load(heads(1, 4), kNever, kNow);
  for (auto& one : heads(11, 3)) queue.offer(std::move(one), kNow);
  queue.follow(head(5), kNow);
  std::vector<int64_t> taken;
  while (!queue.empty()) taken.push_back(queue.take().id);
  EXPECT_EQ(taken, (std::vector<int64_t>{11, 1, 12, 2, 13, 3, 4, 5}));
}

TEST(DispatchQueue, TellsSinceWhenTheLongestWaitingOneIsReady) {
  DispatchQueue queue = asked();
  queue.offer(head(1), kNow);
  queue.follow(head(2), kNow + base::Millis(5));
  EXPECT_EQ(queue.since(), kNow);
  queue.take();
  EXPECT_EQ(queue.since(), kNow + base::Millis(5));
}

TEST(DispatchQueue, RemembersADropDuringALoad) {
  DispatchQueue queue = asked();
  queue.expect_more();
  queue.begin_load();
  for (auto& one : heads(1, DispatchQueue::kMost + 1)) queue.offer(std::move(one), kNow);
  queue.end_load({}, kNever, kNow);
  while (!queue.empty()) queue.release(queue.take().id);
  EXPECT_TRUE(queue.wants_load(kNow));
}

TEST(DispatchQueue, AsksAgainAfterAFullLoad) {
  DispatchQueue queue;
  queue.begin_load();
  queue.end_load(heads(1, DispatchQueue::kLoad), kNever, kNow);
  queue.take();
  EXPECT_TRUE(queue.wants_load(kNow));
}

TEST(DispatchQueue, WaitsForTheNextDue) {
  DispatchQueue queue = asked();
  queue.offer(head(1), kNow);
  queue.take();
  queue.release_until(1, kNow + base::Millis(5000));
  EXPECT_EQ(queue.next_due(), kNow + base::Millis(5000));
  EXPECT_TRUE(queue.idle(kNow));
  EXPECT_FALSE(queue.wants_load(kNow));
  EXPECT_TRUE(queue.wants_load(kNow + base::Millis(5000)));
}

TEST(DispatchQueue, DoesNotQueueWhatIsNotDue) {
  DispatchQueue queue = asked();
  queue.offer(head(1, kNow + base::Millis(10)), kNow);
  EXPECT_TRUE(queue.empty());
  EXPECT_EQ(queue.next_due(), kNow + base::Millis(10));
}

TEST(DispatchQueue, IsNotKeptBusyByALedgerThatContradictsItself) {
  DispatchQueue queue;
  queue.begin_load();
  queue.end_load({}, kNow, kNow);
  EXPECT_FALSE(queue.wants_load(kNow));
  EXPECT_GE(queue.next_due(), kNow + base::Millis(1000));
}

TEST(DispatchQueue, ForgetsWhatIsReadyButNotWhatIsUnderWay) {
  DispatchQueue queue = asked();
  queue.offer(head(1), kNow);
  queue.offer(head(2), kNow);
  queue.take();
  queue.clear();
  EXPECT_TRUE(queue.empty());
  EXPECT_EQ(queue.begin_load(), std::vector<int64_t>{1});
}

}  // namespace
}  // namespace girdle::delivery
