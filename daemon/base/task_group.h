// Coroutines that live and end together: what a stage started is awaited before the stage is destroyed.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <boost/asio/bind_cancellation_slot.hpp>
#include <boost/asio/cancellation_signal.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/this_coro.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <cassert>
#include <exception>
#include <functional>
#include <list>
#include <utility>

namespace girdle::base {

// All calls come from one thread, the one that runs the executor. An exception that leaves a task is a fault of the
// program; it is handed to `on_fault`, and the other tasks go on. Hand over calls of member or free coroutines, never a
// lambda with captures: its captures die before its first suspension ends.
class TaskGroup {
 public:
  using Executor = boost::asio::any_io_executor;
  using OnFault = std::function<void(std::exception_ptr)>;

  TaskGroup(Executor executor, OnFault on_fault)
      : executor_(std::move(executor)), on_fault_(std::move(on_fault)), ended_(executor_) {
    ended_.expires_at(boost::asio::steady_timer::time_point::max());
  }
  ~TaskGroup() { assert(signals_.empty() && "stop() was not awaited"); }
  TaskGroup(const TaskGroup&) = delete;
  TaskGroup& operator=(const TaskGroup&) = delete;

  bool stopping() const { return stopping_; }
  size_t size() const { return signals_.size(); }

  // Starts the task, unless the group is stopping.
  void spawn(boost::asio::awaitable<void> task) {
    if (stopping_) return;
    const auto signal = signals_.emplace(signals_.end());
    boost::asio::co_spawn(executor_, std::move(task),
                          boost::asio::bind_cancellation_slot(signal->slot(), [this, signal](std::exception_ptr fault) {
                            signals_.erase(signal);
                            if (fault && !stopping_) on_fault_(fault);
                            if (signals_.empty()) ended_.cancel();
                          }));
  }

  // Asks every task to end: each pending operation completes with operation_aborted.
  void cancel() {
    stopping_ = true;
    // A task may end, and leave the list, while it is being told; and a signal sent before a task's first operation is
    // lost, so stop() repeats this until all have ended.
    for (auto at = signals_.begin(); at != signals_.end();) {
      auto& signal = *at++;
      signal.emit(boost::asio::cancellation_type::terminal);
    }
  }

  // cancel(), and waits for the last task.
  boost::asio::awaitable<void> stop() {
    cancel();
    while (!signals_.empty()) {
      boost::system::error_code ignored;
      ended_.expires_after(std::chrono::milliseconds(10));
      co_await ended_.async_wait(boost::asio::redirect_error(boost::asio::use_awaitable, ignored));
      cancel();
    }
  }

 private:
  Executor executor_;
  OnFault on_fault_;
  std::list<boost::asio::cancellation_signal> signals_;
  boost::asio::steady_timer ended_;
  bool stopping_ = false;
};

}  // namespace girdle::base
