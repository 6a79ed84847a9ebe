// The dispatcher's own rules, with senders that do what a test says: no network, and a clock that tests move.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/this_coro.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <functional>
#include <map>

#include "base/task_group.h"
#include "delivery/client_runner.h"
#include "delivery/dispatcher.h"
#include "delivery/fake_outbox.h"
#include "delivery/sample_outcomes.h"

namespace girdle::delivery {
namespace {

namespace asio = boost::asio;
using base::Millis;
using model::DeliveryState;
using std::chrono::hours;
using std::chrono::milliseconds;
using std::chrono::minutes;
using std::chrono::seconds;
using testing::ElementsAre;
using testing::HasSubstr;

Attempt answered(int status) {
  Attempt attempt;
  attempt.end = Attempt::End::kAnswered;
  attempt.status = status;
  return attempt;
}

// The ids of the deliveries of each message, in the order in which they were sent.
using Messages = std::vector<std::vector<int64_t>>;
using Receiver = std::function<Attempt(std::span<const model::Delivery>)>;

class ScriptedSender final : public Sender {
 public:
  ScriptedSender(Receiver& receiver, Messages& messages) : receiver_(receiver), messages_(messages) {}

  asio::awaitable<Attempt> send(std::span<const model::Delivery> deliveries) override {
    auto& message = messages_.emplace_back();
    for (const model::Delivery& delivery : deliveries) message.push_back(delivery.id);
    auto executor = co_await asio::this_coro::executor;
    co_await asio::post(executor, asio::use_awaitable);
    co_return receiver_(deliveries);
  }

 private:
  Receiver& receiver_;
  Messages& messages_;
};

class DispatcherRules : public testing::Test {
 protected:
  ~DispatcherRules() override {
    bool ended = false;
    asio::co_spawn(io_, tasks_.stop(), [&](std::exception_ptr) { ended = true; });
    EXPECT_TRUE(until([&] { return ended; }));
  }

  static config::Outlet outlet() {
    config::Outlet outlet;
    outlet.name = "till";
    outlet.retry = {seconds(5), minutes(5), minutes(30)};
    outlet.in_flight = 1;
    return outlet;
  }

  Dispatcher& start(const config::Outlet& outlet) {
    std::vector<std::unique_ptr<Sender>> senders;
    for (int i = 0; i < outlet.in_flight; ++i) senders.push_back(std::make_unique<ScriptedSender>(receiver_, messages_));
    dispatcher_ = std::make_unique<Dispatcher>(
        outlet, 1, Dispatcher::Surroundings{io_.get_executor(), outbox_, clock_, log_, 1, &meters_}, std::move(senders));
    tasks_.spawn(dispatcher_->run());
    return *dispatcher_;
  }

  template <class Predicate>
  bool until(Predicate holds, milliseconds within = milliseconds(4000)) {
    return run_until(io_, holds, within);
  }

  // Everything that can be done at this time of the clock.
  void settle() { until([] { return false; }, milliseconds(30)); }

  // As when that much time has passed, also for timers of the system, which do not know this clock.
  void pass(Millis time) {
    clock_.advance(time);
    dispatcher_->wake();
    settle();
  }

  model::Delivery put(int64_t case_number, int64_t sequence) {
    model::Delivery delivery = sample_delivery(++last_id_, case_number, sequence);
    delivery.outlet = 1;
    delivery.due = clock_.now();
    outbox_.add(delivery);
    return delivery;
  }

  asio::io_context io_;
  base::ManualClock clock_{base::from_millis(1793614530000)};  // 2026-11-02T10:15:30Z
  base::Log log_ = base::Log::to_memory();
  FakeOutbox outbox_{io_};
  Receiver receiver_ = [](auto) { return answered(204); };
  Messages messages_;
  OutletMeters meters_;
  std::unique_ptr<Dispatcher> dispatcher_;
  base::TaskGroup tasks_{io_.get_executor(), [](std::exception_ptr) { ADD_FAILURE() << "run() threw"; }};
  int64_t last_id_ = 0;
};

uint64_t counted(const base::Histogram& histogram) {
  uint64_t count = 0;
  for (size_t i = 0; i <= histogram.bounds().size(); ++i) count += histogram.bucket(i);
  return count;
}

TEST_F(DispatcherRules, TellsWhatIsUnderWayAndWhatIsInMemory) {
  for (int i = 1; i <= 5; ++i) put(i, 1);
  Dispatcher::Counts seen;
  receiver_ = [&](auto) {
    if (messages_.size() == 2) seen = dispatcher_->counts();
    return answered(204);
  };
  Dispatcher& dispatcher = start(outlet());
  ASSERT_TRUE(until([&] { return dispatcher.idle(); }));
  EXPECT_EQ(seen.in_flight, 1u);
  EXPECT_EQ(seen.in_memory, 3u);
  EXPECT_EQ(dispatcher.counts().in_flight, 0u);
  EXPECT_EQ(dispatcher.counts().in_memory, 0u);
  EXPECT_EQ(dispatcher.counts().sent, 5);
}

TEST_F(DispatcherRules, ABatchThatIsSentOneByOneIsOneAttemptAtATime) {
  config::Outlet batches = outlet();
  batches.batch = {3, Millis(0)};
  uint64_t most = 0;
  receiver_ = [&](std::span<const model::Delivery> deliveries) {
    most = std::max(most, dispatcher_->counts().in_flight);
    return answered(deliveries.size() > 1 ? 422 : 204);
  };
  for (int i = 1; i <= 3; ++i) put(i, 1);
  start(batches);
  ASSERT_TRUE(until([&] { return outbox_.count(DeliveryState::kSent) == 3; }));
  EXPECT_EQ(most, 1u);
  EXPECT_EQ(counted(meters_.attempt), 4u);
}

// Retry-After: RFC 9110 10.2.3.
TEST_F(DispatcherRules, TellsUntilWhenItLeavesAReceiverAlone) {
  receiver_ = [](auto) {
    Attempt busy = answered(503);
    busy.retry_after = "30";
    return busy;
  };
  put(1, 1);
  Dispatcher& dispatcher = start(outlet());
  EXPECT_FALSE(dispatcher.counts().resting_until);
  settle();
  EXPECT_EQ(dispatcher.counts().resting_until, clock_.now() + seconds(30));
  dispatcher.open();
  EXPECT_FALSE(dispatcher.counts().resting_until);
}

TEST_F(DispatcherRules, CountsHowLongItTookFromTheOutcomeToTheReceiver) {
  int tries = 0;
  receiver_ = [&](auto) { return answered(++tries == 1 ? 503 : 204); };
  model::Delivery delivery = sample_delivery(1, 1, 1);
  delivery.outlet = 1;
  delivery.due = clock_.now();
  delivery.outcome.decided_at = clock_.now();
  outbox_.add(delivery);
  start(outlet());
  settle();
  EXPECT_EQ(counted(meters_.attempt), 1u);
  EXPECT_EQ(counted(meters_.outcome_to_sent), 0u);
  pass(seconds(10));
  ASSERT_EQ(outbox_.state(1), DeliveryState::kSent);
  EXPECT_EQ(counted(meters_.attempt), 2u);
  EXPECT_EQ(counted(meters_.outcome_to_sent), 1u);
  EXPECT_EQ(meters_.outcome_to_sent.sum_us(), 10'000'000u);
}

TEST_F(DispatcherRules, ABacklogDoesNotStarveWhatIsDecidedNow) {
  for (int i = 1; i <= 400; ++i) put(i, 1);
  Dispatcher& dispatcher = start(outlet());
  ASSERT_TRUE(until([&] { return messages_.size() == 20; }));
  const model::Delivery fresh = put(1000, 1);
  dispatcher.offer({fresh});
  ASSERT_TRUE(until([&] { return outbox_.state(fresh.id) == DeliveryState::kSent; }));
  EXPECT_LT(messages_.size(), 30u);
  ASSERT_TRUE(until([&] { return dispatcher.idle(); }));
  EXPECT_EQ(outbox_.count(DeliveryState::kSent), 401u);
}

TEST_F(DispatcherRules, ABatchGoesWhenItIsFull) {
  config::Outlet batches = outlet();
  batches.batch = {3, minutes(5)};
  for (int i = 1; i <= 7; ++i) put(i, 1);
  start(batches);
  settle();
  EXPECT_THAT(messages_, ElementsAre(ElementsAre(1, 2, 3), ElementsAre(4, 5, 6)));
  pass(minutes(4));
  EXPECT_EQ(messages_.size(), 2u);
  pass(minutes(1));
  EXPECT_THAT(messages_.back(), ElementsAre(7));
  EXPECT_EQ(outbox_.count(DeliveryState::kSent), 7u);
}

TEST_F(DispatcherRules, ABatchDoesNotWaitWhenNothingMoreIsToCome) {
  config::Outlet batches = outlet();
  batches.batch = {100, hours(1)};
  put(1, 1);
  put(2, 1);
  Dispatcher& dispatcher = start(batches);
  settle();
  EXPECT_TRUE(messages_.empty());
  EXPECT_FALSE(dispatcher.idle());
  dispatcher.hurry();
  ASSERT_TRUE(until([&] { return dispatcher.idle(); }));
  EXPECT_THAT(messages_, ElementsAre(ElementsAre(1, 2)));
}

TEST_F(DispatcherRules, ABatchHasOneOutcomeOfACaseAndTheNextFollowsInOrder) {
  config::Outlet batches = outlet();
  batches.batch = {10, Millis(0)};
  put(1, 1);
  put(1, 2);
  put(2, 1);
  put(1, 3);
  start(batches);
  ASSERT_TRUE(until([&] { return outbox_.count(DeliveryState::kSent) == 4; }));
  EXPECT_THAT(messages_, ElementsAre(ElementsAre(1, 3), ElementsAre(2), ElementsAre(4)));
}

TEST_F(DispatcherRules, OneOutcomeThatIsRefusedDoesNotTakeItsBatchAlong) {
  config::Outlet batches = outlet();
  batches.batch = {3, Millis(0)};
  receiver_ = [](std::span<const model::Delivery> deliveries) {
    const bool poisoned = std::any_of(deliveries.begin(), deliveries.end(), [](const auto& d) { return d.id == 2; });
    return answered(poisoned ? 422 : 204);
  };
  for (int i = 1; i <= 3; ++i) put(i, 1);
  start(batches);
  settle();
  EXPECT_THAT(messages_, ElementsAre(ElementsAre(1, 2, 3), ElementsAre(1), ElementsAre(2), ElementsAre(3)));
  EXPECT_EQ(outbox_.state(1), DeliveryState::kSent);
  EXPECT_EQ(outbox_.state(2), DeliveryState::kWaiting);
  EXPECT_EQ(outbox_.state(3), DeliveryState::kSent);
}

TEST_F(DispatcherRules, WhatCannotBeSaidIsParkedAtOnceAndTheOthersGo) {
  config::Outlet batches = outlet();
  batches.batch = {3, Millis(0)};
  receiver_ = [](std::span<const model::Delivery> deliveries) {
    Attempt attempt = answered(200);
    for (size_t i = 0; i < deliveries.size(); ++i) {
      if (deliveries[i].id == 1) attempt.unwritable.emplace_back(i, "/data/disposition: \"refer\" is not among the words");
    }
    return attempt;
  };
  for (int i = 1; i <= 3; ++i) put(i, 1);
  put(1, 2);
  Dispatcher& dispatcher = start(batches);
  ASSERT_TRUE(until([&] { return dispatcher.idle(); }));
  EXPECT_EQ(outbox_.state(1), DeliveryState::kParked);
  EXPECT_EQ(outbox_.count(DeliveryState::kSent), 3u);  // its case goes on
  const auto parked = std::find_if(outbox_.marks().begin(), outbox_.marks().end(), [](const auto& m) { return m.delivery == 1; });
  EXPECT_THAT(parked->note, HasSubstr("is not among the words"));
  EXPECT_EQ(parked->attempts, 0);
  EXPECT_FALSE(parked->made);  // nothing was sent
  EXPECT_EQ(dispatcher.counts().parked, 1);
}

TEST_F(DispatcherRules, AnOutletThatWantsOnlyTheLatestIsNotToldWhatIsOvertaken) {
  config::Outlet latest = outlet();
  latest.only_latest = true;
  for (int sequence = 1; sequence <= 5; ++sequence) put(1, sequence);
  put(2, 1);
  start(latest);
  ASSERT_TRUE(until([&] { return outbox_.count(DeliveryState::kSent) == 2; }));
  std::vector<int64_t> sent;
  for (const auto& message : messages_) sent.insert(sent.end(), message.begin(), message.end());
  std::sort(sent.begin(), sent.end());
  EXPECT_THAT(sent, ElementsAre(5, 6));
  EXPECT_EQ(outbox_.count(DeliveryState::kSkipped), 4u);
}

TEST_F(DispatcherRules, AnOverdueOutcomeGivesWayWhenALaterOneComes) {
  config::Outlet latest = outlet();
  latest.only_latest = true;
  receiver_ = [](auto) { return answered(503); };
  put(1, 1);
  start(latest);
  settle();
  EXPECT_EQ(messages_.size(), 1u);
  put(1, 2);
  receiver_ = [](auto) { return answered(204); };
  pass(seconds(6));
  EXPECT_THAT(messages_, ElementsAre(ElementsAre(1), ElementsAre(2)));
  EXPECT_EQ(outbox_.state(1), DeliveryState::kSkipped);
}

TEST_F(DispatcherRules, NoMoreAttemptsAMinuteThanTheOutletAllows) {
  config::Outlet slow = outlet();
  slow.per_minute = 30;
  slow.in_flight = 4;
  for (int i = 1; i <= 10; ++i) put(i, 1);
  start(slow);
  settle();
  EXPECT_EQ(messages_.size(), 1u);
  for (size_t sent = 2; sent <= 5; ++sent) {
    pass(Millis(1999));
    EXPECT_EQ(messages_.size(), sent - 1);
    pass(Millis(1));
    EXPECT_EQ(messages_.size(), sent);
  }
}

TEST_F(DispatcherRules, APersonsPauseHoldsEverythingUntilItEnds) {
  put(1, 1);
  Dispatcher& dispatcher = start(outlet());
  dispatcher.pause();
  settle();
  EXPECT_TRUE(messages_.empty());
  EXPECT_TRUE(dispatcher.idle());
  EXPECT_TRUE(dispatcher.counts().paused);
  dispatcher.offer({put(2, 1)});
  settle();
  EXPECT_TRUE(messages_.empty());
  dispatcher.open();
  ASSERT_TRUE(until([&] { return outbox_.count(DeliveryState::kSent) == 2; }));
}

TEST_F(DispatcherRules, OpeningAnOutletEndsItsPausesToo) {
  receiver_ = [](auto) {
    Attempt attempt = answered(429);
    attempt.retry_after = "3600";
    return attempt;
  };
  put(1, 1);
  Dispatcher& dispatcher = start(outlet());
  settle();
  ASSERT_EQ(messages_.size(), 1u);
  put(2, 1);
  dispatcher.wake();
  settle();
  EXPECT_EQ(messages_.size(), 1u);  // the receiver asked to be left alone
  receiver_ = [](auto) { return answered(204); };
  dispatcher.open();
  ASSERT_TRUE(until([&] { return outbox_.state(2) == DeliveryState::kSent; }));
}

TEST_F(DispatcherRules, AReceiverThatRefusesIsToldOnceAMinute) {
  receiver_ = [](auto) { return answered(401); };
  for (int i = 1; i <= 20; ++i) put(i, 1);
  start(outlet());
  settle();
  EXPECT_EQ(messages_.size(), 20u);
  const std::string text = log_.text();
  const size_t told = text.find("outlet refuses a delivery outlet=till reason=\"answered 401: check that the receiver knows");
  ASSERT_NE(told, std::string::npos) << text;
  EXPECT_EQ(text.find("outlet refuses", told + 1), std::string::npos);
}

TEST_F(DispatcherRules, EachAttemptIsToldToTheLedger) {
  receiver_ = [this](auto) {
    clock_.advance(Millis(70));
    Attempt attempt = answered(503);
    attempt.answer = "{\"title\": \"busy\"}";
    attempt.reference = "T-1";
    attempt.failure = "busy";
    return attempt;
  };
  const auto begin = clock_.now();
  put(1, 1);
  start(outlet());
  ASSERT_TRUE(until([&] { return outbox_.marks().size() == 1; }));
  const Outbox::Mark& mark = outbox_.marks().front();
  ASSERT_TRUE(mark.made);
  EXPECT_EQ(mark.made->at, begin);
  EXPECT_EQ(mark.made->took, Millis(70));
  EXPECT_EQ(mark.made->answer, "{\"title\": \"busy\"}");
  EXPECT_EQ(mark.reference, "T-1");
  EXPECT_EQ(mark.note, "answered 503 (busy)");
  EXPECT_EQ(mark.attempts, 1);
}

// Somebody sets the clock back by a day while a delivery waits five seconds for its second attempt.
TEST_F(DispatcherRules, AClockThatIsSetBackKeepsNothingWaiting) {
  receiver_ = [](auto) { return answered(503); };
  put(1, 1);
  start(outlet());
  settle();
  ASSERT_EQ(messages_.size(), 1u);
  clock_.set(clock_.now() - hours(24));
  receiver_ = [](auto) { return answered(204); };
  pass(seconds(2));
  EXPECT_EQ(messages_.size(), 1u);  // nor is it hurried
  pass(seconds(4));
  EXPECT_EQ(messages_.size(), 2u);
  EXPECT_EQ(outbox_.state(1), DeliveryState::kSent);
  put(2, 1);
  pass(seconds(1));
  EXPECT_EQ(outbox_.state(2), DeliveryState::kSent);
}

TEST_F(DispatcherRules, AClockThatIsSetForwardBringsWhatIsDueAndLosesNothing) {
  receiver_ = [](auto) { return answered(503); };
  put(1, 1);
  start(outlet());
  settle();
  clock_.set(clock_.now() + hours(24 * 365));
  receiver_ = [](auto) { return answered(204); };
  pass(Millis(1));
  EXPECT_EQ(outbox_.state(1), DeliveryState::kSent);
  clock_.set(clock_.now() - hours(24 * 365));
  put(2, 1);
  pass(seconds(1));
  EXPECT_EQ(outbox_.state(2), DeliveryState::kSent);
}

// The clock was a year ahead when the ledger was written, and is right at this start.
TEST_F(DispatcherRules, WhatTheLedgerSaysIsDueInAYearIsDue) {
  model::Delivery delivery = sample_delivery(++last_id_, 1, 1);
  delivery.outlet = 1;
  delivery.due = clock_.now() + hours(24 * 365);
  outbox_.add(delivery);
  put(2, 1);
  start(outlet());
  ASSERT_TRUE(until([&] { return outbox_.count(DeliveryState::kSent) == 2; }));
  EXPECT_LE(outbox_.loads(), 4);
}

TEST_F(DispatcherRules, ADayIsNotTooLongToWait) {
  model::Delivery delivery = sample_delivery(++last_id_, 1, 1);
  delivery.outlet = 1;
  delivery.due = clock_.now() + hours(23);
  outbox_.add(delivery);
  Dispatcher& dispatcher = start(outlet());
  settle();
  EXPECT_TRUE(messages_.empty());
  EXPECT_TRUE(dispatcher.idle());
}

}  // namespace
}  // namespace girdle::delivery
