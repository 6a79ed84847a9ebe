#include "api/feed.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>

#include "api/fake_shop.h"
#include "api/readers.h"

namespace girdle::api {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;
using testing::StartsWith;
using namespace std::chrono_literals;

Happening decided(std::initializer_list<ledger::Number> cases) {
  Happening happening;
  for (const auto number : cases) happening.decided.push_back({number, 1});
  return happening;
}

TEST(Gathering, AddsUp) {
  Gathering gathering;
  EXPECT_TRUE(gathering.empty());
  Happening one;
  one.readings = 2;
  one.marks = 1;
  gathering.add(one);
  one.asides = 1;
  gathering.add(one);
  EXPECT_EQ(gathering.json({}),
            R"({"decided":[],"more":0,"readings":4,"duplicates":0,"asides":1,"declarations":0,"deliveries":2})");
}

TEST(Gathering, TellsOfACaseOnceAndAsItWasLast) {
  Gathering gathering;
  gathering.add(decided({1, 2}));
  Happening again;
  again.decided = {{1, 2}};
  gathering.add(again);
  EXPECT_THAT(gathering.decided(), ElementsAre(Happening::Decided{2, 1}, Happening::Decided{1, 2}));
}

TEST(Gathering, KeepsTheNewestAndCountsTheOthers) {
  Gathering gathering;
  Happening many;
  for (int i = 0; i < 10'000; ++i) many.decided.push_back({i, 1});
  gathering.add(many);
  gathering.add(decided({10'000, 10'001}));
  ASSERT_EQ(gathering.decided().size(), Gathering::kMostDecided);
  EXPECT_EQ(gathering.decided().front().case_number, 9'952);
  EXPECT_EQ(gathering.decided().back().case_number, 10'001);
  std::vector<std::string> lines(50, "{}");
  lines[3].clear();  // could not be told
  EXPECT_THAT(gathering.json(lines), HasSubstr(R"("more":9953,)"));
}

class FeedTest : public testing::Test {
 protected:
  FeedTest() {
    limits_.listeners = 3;
    limits_.frame = 20ms;
    Feed::Parts parts{io_.get_executor(),
                      home_,
                      readers_,
                      [this] { return desk_.house(); },
                      [this](Teller&, const House&, const Happening::Decided& one) -> base::Result<std::string> {
                        ++lines_;
                        if (one.case_number == 13) return base::input_error("none");
                        if (one.case_number == 14) throw std::runtime_error("a fault");
                        return std::to_string(one.case_number);
                      },
                      heard_,
                      base::from_millis(1'000)};
    feed_ = std::make_shared<Feed>(std::move(parts), limits_);
    readers_.start();
  }
  ~FeedTest() override {
    feed_->stop();
    home_->leave();
    readers_.stop();
  }

  // What a listener is given, in this time; taken at once, or never.
  static boost::asio::awaitable<void> listen(std::shared_ptr<Feed::Listener> listener, std::vector<Feed::Frame>& got,
                                             bool takes) {
    for (;;) {
      const Feed::Frame frame = co_await listener->next(50ms);
      if (listener->has_ended()) co_return;
      if (!frame) continue;
      got.push_back(frame);
      if (!takes) co_return;
      listener->has_taken();
    }
  }
  std::shared_ptr<Feed::Listener> join(std::vector<Feed::Frame>& got, bool takes = true) {
    auto listener = feed_->join();
    boost::asio::co_spawn(io_, listen(listener, got, takes), boost::asio::detached);
    return listener;
  }
  bool run_until(const std::function<bool()>& what) {
    const auto end = std::chrono::steady_clock::now() + 10s;
    while (!what() && std::chrono::steady_clock::now() < end) io_.run_for(5ms);
    return what();
  }

  FakeDesk desk_;
  Limits limits_;
  boost::asio::io_context io_;
  std::shared_ptr<HomeThread> home_ = std::make_shared<HomeThread>(io_);
  Readers readers_{desk_, 1, base::Log::to_nowhere()};
  std::atomic<bool> heard_{false};
  std::atomic<int> lines_{0};
  std::shared_ptr<Feed> feed_;
};

TEST_F(FeedTest, GathersNothingWhereNobodyListens) {
  EXPECT_FALSE(heard_);
  feed_->publish(decided({1}));
  std::vector<Feed::Frame> got;
  const auto listener = join(got);
  EXPECT_TRUE(heard_);
  feed_->publish(decided({2}));
  ASSERT_TRUE(run_until([&] { return !got.empty(); }));
  EXPECT_THAT(*got[0], HasSubstr(R"("decided":[2],"more":0)"));
  feed_->leave(listener);
  EXPECT_FALSE(heard_);
}

TEST_F(FeedTest, MakesAFrameOnceForAll) {
  std::vector<Feed::Frame> one, two;
  join(one);
  join(two);
  feed_->publish(decided({1, 2}));
  ASSERT_TRUE(run_until([&] { return !one.empty() && !two.empty(); }));
  EXPECT_EQ(one[0].get(), two[0].get());
  EXPECT_EQ(lines_, 2);
  // HTML standard, 9.2.5: fields, one a line, and an empty line.
  EXPECT_EQ(*one[0],
            "id: 1000-1\nevent: changes\ndata: {\"decided\":[1,2],\"more\":0,\"readings\":0,\"duplicates\":0,"
            "\"asides\":0,\"declarations\":0,\"deliveries\":0}\n\n");
}

TEST_F(FeedTest, SendsNoMoreFramesThanItMay) {
  std::vector<Feed::Frame> got;
  join(got);
  const auto begin = std::chrono::steady_clock::now();
  int published = 0;
  ASSERT_TRUE(run_until([&] {
    feed_->publish(decided({published++}));
    return got.size() >= 5;
  }));
  EXPECT_GE(std::chrono::steady_clock::now() - begin, 4 * limits_.frame);
  EXPECT_GT(published, 5);
}

TEST_F(FeedTest, CountsWhatItCannotTell) {
  std::vector<Feed::Frame> got;
  join(got);
  feed_->publish(decided({13, 1, 14}));
  ASSERT_TRUE(run_until([&] { return !got.empty(); }));
  EXPECT_THAT(*got[0], HasSubstr(R"("decided":[1],"more":2)"));
  desk_.has_ledger = false;
  feed_->publish(decided({2}));  // the teller is there already
  ASSERT_TRUE(run_until([&] { return got.size() == 2; }));
}

TEST_F(FeedTest, ClosesOneThatDoesNotKeepUp) {
  std::vector<Feed::Frame> quick, slow;
  const auto keeps_up = join(quick);
  const auto does_not = join(slow, false);
  int published = 0;
  ASSERT_TRUE(run_until([&] {
    if (quick.size() == static_cast<size_t>(published)) feed_->publish(decided({published++}));
    return does_not->has_ended();
  }));
  EXPECT_EQ(slow.size(), 1u);
  EXPECT_TRUE(run_until([&] { return quick.size() == 3; }));  // one that it does not take, and two more
  EXPECT_FALSE(keeps_up->has_ended());
}

TEST_F(FeedTest, BoundsItsListeners) {
  std::vector<Feed::Frame> got;
  const auto first = join(got);
  join(got);
  join(got);
  EXPECT_EQ(feed_->join(), nullptr);
  feed_->leave(first);
  EXPECT_NE(feed_->join(), nullptr);
}

TEST_F(FeedTest, TellsWhetherAnythingWasMissed) {
  EXPECT_THAT(feed_->hello("quay-street", base::from_millis(0), ""),
              testing::EndsWith("event: hello\ndata: {\"site\":\"quay-street\",\"now\":\"1970-01-01T00:00:00.000Z\","
                                "\"resumed\":false}\n\n"));
  std::vector<Feed::Frame> got;
  const auto stays = join(got);
  const auto goes = join(got);
  feed_->publish(decided({1}));
  ASSERT_TRUE(run_until([&] { return got.size() == 2; }));
  feed_->leave(goes);
  EXPECT_THAT(feed_->hello("", {}, "1000-1"), HasSubstr("\"resumed\":true"));
  EXPECT_THAT(feed_->hello("", {}, "1000-0"), HasSubstr("\"resumed\":false"));
  EXPECT_THAT(feed_->hello("", {}, "999-1"), HasSubstr("\"resumed\":false"));  // of another start
  feed_->leave(stays);
  EXPECT_THAT(feed_->hello("", {}, "1000-1"), HasSubstr("\"resumed\":false"));  // nobody gathered since
}

}  // namespace
}  // namespace girdle::api
