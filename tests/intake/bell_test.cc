#include "intake/bell.h"

#include <fcntl.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/io_context.hpp>
#include <chrono>

namespace girdle::intake {
namespace {

namespace asio = boost::asio;
using namespace std::chrono_literals;

asio::awaitable<void> wait(Bell& bell, std::chrono::milliseconds time, Bell::Descriptor* descriptor,
                           int& ended) {
  co_await bell.wait(std::chrono::steady_clock::now() + time, descriptor);
  ++ended;
}

class BellTest : public testing::Test {
 protected:
  BellTest() {
    int ends[2] = {-1, -1};
    EXPECT_EQ(::pipe2(ends, O_CLOEXEC | O_NONBLOCK), 0);
    readable.assign(ends[0]);
    writer = ends[1];
  }
  ~BellTest() override { ::close(writer); }

  void begin(std::chrono::milliseconds time, bool with_descriptor) {
    asio::co_spawn(context, wait(bell, time, with_descriptor ? &readable : nullptr, ended),
                   asio::detached);
    context.restart();
    context.poll();
  }
  // Runs until the wait has ended, or for long.
  void run() {
    context.restart();
    context.run_for(30s);
  }

  asio::io_context context{1};
  Bell bell{context.get_executor()};
  Bell::Descriptor readable{context};
  int writer = -1;
  int ended = 0;
};

TEST_F(BellTest, WakesAtItsDeadline) {
  begin(1ms, false);
  run();
  EXPECT_EQ(ended, 1);
  begin(1ms, true);
  run();
  EXPECT_EQ(ended, 2);
}

TEST_F(BellTest, WakesAtARing) {
  begin(1h, true);
  EXPECT_EQ(ended, 0);
  bell.ring();
  run();
  EXPECT_EQ(ended, 1);
}

TEST_F(BellTest, KeepsARingForTheNextWaitAndNoLonger) {
  bell.ring();
  begin(1h, false);
  EXPECT_EQ(ended, 1);
  begin(1h, false);
  EXPECT_EQ(ended, 1);
  bell.ring();
  run();
  EXPECT_EQ(ended, 2);
}

TEST_F(BellTest, WakesWhenTheDescriptorIsReadableAlsoTheSecondTime) {
  for (int round = 1; round <= 2; ++round) {
    begin(1h, true);
    EXPECT_EQ(ended, round - 1);
    ASSERT_EQ(::write(writer, "x", 1), 1);
    run();
    EXPECT_EQ(ended, round);
    char byte = 0;
    ASSERT_EQ(::read(readable.native_handle(), &byte, 1), 1);
  }
}

}  // namespace
}  // namespace girdle::intake
