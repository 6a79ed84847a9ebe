#include "service/reader_wait.h"

#include <fcntl.h>

#include <algorithm>
#include <boost/asio/deferred.hpp>
#include <boost/asio/experimental/parallel_group.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/use_awaitable.hpp>

namespace girdle::service {
namespace {

namespace asio = boost::asio;

constexpr std::chrono::milliseconds kLookAgain{10};  // where there is no descriptor left to watch with

}  // namespace

bool ReaderWait::watch(const reading::Wait& wait) {
  if (descriptor_ && id_ == wait.id) return true;
  descriptor_.reset();
  const int own = fcntl(wait.descriptor, F_DUPFD_CLOEXEC, 0);
  if (own < 0) return false;
  descriptor_.emplace(timer_.get_executor(), own);
  id_ = wait.id;
  return true;
}

asio::awaitable<void> ReaderWait::readable() {
  co_await asio::experimental::make_parallel_group(timer_.async_wait(asio::deferred),
                                                   descriptor_->async_wait(Descriptor::wait_read, asio::deferred))
      .async_wait(asio::experimental::wait_for_one(), asio::use_awaitable);
}

// Readable too: a process that is not listened to does not go on, and then takes nothing.
asio::awaitable<void> ReaderWait::writable_or_readable() {
  co_await asio::experimental::make_parallel_group(timer_.async_wait(asio::deferred),
                                                   descriptor_->async_wait(Descriptor::wait_read, asio::deferred),
                                                   descriptor_->async_wait(Descriptor::wait_write, asio::deferred))
      .async_wait(asio::experimental::wait_for_one(), asio::use_awaitable);
}

asio::awaitable<void> ReaderWait::until(const reading::Wait& wait) {
  const auto now = std::chrono::steady_clock::now();
  if (wait.until <= now) {
    co_await asio::post(timer_.get_executor(), asio::use_awaitable);
    co_return;
  }
  if (wait.descriptor >= 0 && watch(wait)) {
    timer_.expires_at(wait.until);
    asio::awaitable<void> ready = wait.to_write ? writable_or_readable() : readable();
    co_await std::move(ready);
    co_return;
  }
  timer_.expires_at(wait.descriptor < 0 ? wait.until : std::min(wait.until, now + kLookAgain));
  boost::system::error_code ignored;
  co_await timer_.async_wait(asio::redirect_error(asio::use_awaitable, ignored));
}

}  // namespace girdle::service
