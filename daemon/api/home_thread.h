// The way back to the server's thread, for whoever answers on another one, perhaps when the server has gone.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <utility>

#include "base/clock.h"

namespace girdle::api {

// Thread-safe; outlives the context.
class HomeThread {
 public:
  explicit HomeThread(boost::asio::io_context& context) : context_(&context) {}

  // Dropped once leave() was called.
  void post(std::function<void()> work) {
    const std::lock_guard lock(mutex_);
    if (context_ != nullptr) boost::asio::post(*context_, std::move(work));
  }
  void leave() {
    const std::lock_guard lock(mutex_);
    context_ = nullptr;
  }

 private:
  std::mutex mutex_;
  boost::asio::io_context* context_;
};

// A value that somebody else will give, once, from any thread, and that one coroutine waits for. On the server's
// thread.
template <class T>
class Pending {
 public:
  Pending(boost::asio::any_io_executor executor, std::shared_ptr<HomeThread> home)
      : home_(std::move(home)), timer_(std::move(executor)) {
    slot_->timer = &timer_;
  }
  ~Pending() { slot_->timer = nullptr; }
  Pending(const Pending&) = delete;
  Pending& operator=(const Pending&) = delete;

  // May be called from any thread, at any time; only the first call counts.
  std::function<void(T)> giver() {
    return [home = home_, slot = slot_](T value) {
      const auto kept = std::make_shared<T>(std::move(value));
      home->post([slot, kept] {
        if (slot->value) return;
        slot->value = std::move(*kept);
        if (slot->timer != nullptr) slot->timer->cancel();
      });
    };
  }

  // Nothing: it took longer.
  boost::asio::awaitable<std::optional<T>> wait(base::Millis most) {
    if (!slot_->value) {
      boost::system::error_code ended;
      timer_.expires_after(most);
      co_await timer_.async_wait(boost::asio::redirect_error(boost::asio::use_awaitable, ended));
    }
    co_return std::move(slot_->value);
  }

 private:
  struct Slot {
    std::optional<T> value;
    boost::asio::steady_timer* timer = nullptr;
  };
  std::shared_ptr<HomeThread> home_;
  std::shared_ptr<Slot> slot_ = std::make_shared<Slot>();
  boost::asio::steady_timer timer_;
};

}  // namespace girdle::api
