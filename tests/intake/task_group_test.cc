#include "base/task_group.h"

#include <gtest/gtest.h>

#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <chrono>
#include <stdexcept>
#include <string>

namespace girdle::base {
namespace {

namespace asio = boost::asio;
using namespace std::chrono_literals;

asio::awaitable<void> note_end(bool& ended, asio::steady_timer::duration after) {
  asio::steady_timer timer(co_await asio::this_coro::executor, after);
  co_await timer.async_wait(asio::use_awaitable);
  ended = true;
}

asio::awaitable<void> wait_for_ever(int& running) {
  struct Count {
    explicit Count(int& number) : number_(number) { ++number_; }
    ~Count() { --number_; }
    int& number_;
  } count(running);
  asio::steady_timer timer(co_await asio::this_coro::executor, 1h);
  co_await timer.async_wait(asio::use_awaitable);
}

// Swallows every cancellation but the last: what a task does that cleans up step by step.
asio::awaitable<void> end_at_the_third_time(int& cancelled) {
  while (cancelled < 3) {
    co_await asio::this_coro::reset_cancellation_state(asio::enable_terminal_cancellation());
    asio::steady_timer timer(co_await asio::this_coro::executor, 1h);
    boost::system::error_code error;
    co_await timer.async_wait(asio::redirect_error(asio::use_awaitable, error));
    if (error) ++cancelled;
  }
}

asio::awaitable<void> fail() {
  co_await asio::post(co_await asio::this_coro::executor, asio::use_awaitable);
  throw std::runtime_error("a fault");
}

class TaskGroupTest : public testing::Test {
 protected:
  void stop() {
    bool stopped = false;
    asio::co_spawn(context, group.stop(), [&stopped](std::exception_ptr) { stopped = true; });
    context.restart();
    context.run_for(30s);
    ASSERT_TRUE(stopped);
    ASSERT_EQ(group.size(), 0u);
  }

  std::string fault;
  asio::io_context context{1};
  TaskGroup group{context.get_executor(), [this](std::exception_ptr what) {
                    try {
                      std::rethrow_exception(what);
                    } catch (const std::exception& error) {
                      fault += error.what();
                    }
                  }};
};

TEST_F(TaskGroupTest, StopEndsTasksThatWaitAndIsAwaited) {
  int running = 0;
  for (int i = 0; i < 10; ++i) group.spawn(wait_for_ever(running));
  context.run_one_for(1s);
  context.poll();
  EXPECT_EQ(running, 10);
  stop();
  EXPECT_EQ(running, 0);
  EXPECT_EQ(fault, "");  // being cancelled is no fault
}

TEST_F(TaskGroupTest, StopReachesATaskWhoseFirstOperationHasNotBegun) {
  int running = 0;
  group.spawn(wait_for_ever(running));  // not run yet
  stop();
  EXPECT_EQ(running, 0);
}

TEST_F(TaskGroupTest, StopIsRepeatedUntilATaskEnds) {
  int cancelled = 0;
  group.spawn(end_at_the_third_time(cancelled));
  context.run_one_for(1s);
  stop();
  EXPECT_EQ(cancelled, 3);
}

TEST_F(TaskGroupTest, ATaskThatEndsByItselfLeavesTheGroup) {
  bool ended = false;
  group.spawn(note_end(ended, 1ms));
  EXPECT_EQ(group.size(), 1u);
  context.run_for(30s);  // returns when nothing is left to do
  EXPECT_TRUE(ended);
  EXPECT_EQ(group.size(), 0u);
}

TEST_F(TaskGroupTest, AFaultIsToldAndTheOthersGoOn) {
  bool ended = false;
  group.spawn(fail());
  group.spawn(note_end(ended, 20ms));
  context.run_for(30s);
  EXPECT_EQ(fault, "a fault");
  EXPECT_TRUE(ended);
}

TEST_F(TaskGroupTest, NothingStartsInAGroupThatStops) {
  stop();
  int running = 0;
  group.spawn(wait_for_ever(running));
  EXPECT_EQ(group.size(), 0u);
  EXPECT_TRUE(group.stopping());
}

}  // namespace
}  // namespace girdle::base
