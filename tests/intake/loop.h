// Runs intakes on one thread and waits for what a test expects of them: for a condition, with a
// deadline that a busy machine keeps too, never for a length of time.
#pragma once

#include <gtest/gtest.h>

#include <boost/asio/io_context.hpp>
#include <chrono>
#include <functional>
#include <memory>

#include "base/clock.h"
#include "base/log.h"
#include "base/task_group.h"
#include "fake_sink.h"
#include "intake/intake.h"

namespace girdle::intake {

class Loop {
 public:
  static constexpr std::chrono::seconds kDeadline{30};

  Loop() : sink(context.get_executor()) {}
  ~Loop() { stop(); }
  Loop(const Loop&) = delete;
  Loop& operator=(const Loop&) = delete;

  void start(Intake& intake) {
    group = std::make_unique<base::TaskGroup>(context.get_executor(), [](std::exception_ptr fault) {
      try {
        std::rethrow_exception(fault);
      } catch (const std::exception& error) {
        ADD_FAILURE() << "an intake ended with: " << error.what();
      }
    });
    group->spawn(intake.run());
  }

  void stop() {
    if (!group) return;
    bool ended = false;
    boost::asio::co_spawn(context, group->stop(), [&ended](std::exception_ptr) { ended = true; });
    ASSERT_TRUE(until([&] { return ended; })) << "an intake did not stop";
    group.reset();
  }

  void scan_once(Intake& intake) {
    bool ended = false;
    boost::asio::co_spawn(context, intake.scan_once(), [&ended](std::exception_ptr fault) {
      EXPECT_FALSE(fault);
      ended = true;
    });
    ASSERT_TRUE(until([&] { return ended && sink.in_flight == 0; })) << "the scan did not end";
  }

  // True as soon as the condition holds; false when the deadline passed.
  bool until(const std::function<bool()>& condition) {
    const auto deadline = std::chrono::steady_clock::now() + kDeadline;
    while (!condition()) {
      if (std::chrono::steady_clock::now() > deadline) return false;
      if (context.stopped()) context.restart();
      context.run_one_for(std::chrono::milliseconds(5));
    }
    return true;
  }

  // For what must not happen: runs for a while that is long against the intake's own times.
  void run_for(std::chrono::milliseconds time) {
    const auto end = std::chrono::steady_clock::now() + time;
    until([&] { return std::chrono::steady_clock::now() >= end; });
  }

  boost::asio::io_context context{1};
  FakeSink sink;
  base::SystemClock clock;
  base::Log log = base::Log::to_memory();
  std::unique_ptr<base::TaskGroup> group;
};

}  // namespace girdle::intake
