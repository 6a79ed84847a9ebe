// Waits for the process of an isolated reader, on the intakes' thread and without blocking it.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/steady_timer.hpp>
#include <cstdint>
#include <optional>

#include "reading/carrier.h"

namespace girdle::service {

// One waiter at a time.
class ReaderWait {
 public:
  explicit ReaderWait(const boost::asio::any_io_executor& executor) : timer_(executor) {}

  // Returns when what is waited for is there, or its time has come. When the coroutine is cancelled it returns too; the
  // next operation of the coroutine then throws operation_aborted.
  boost::asio::awaitable<void> until(const reading::Wait& wait);

 private:
  using Descriptor = boost::asio::posix::stream_descriptor;
  bool watch(const reading::Wait& wait);
  boost::asio::awaitable<void> readable();
  boost::asio::awaitable<void> writable_or_readable();

  boost::asio::steady_timer timer_;
  // A duplicate: the reader's process may be ended, and its socket closed, while it is watched.
  std::optional<Descriptor> descriptor_;
  uint64_t id_ = 0;
};

}  // namespace girdle::service
