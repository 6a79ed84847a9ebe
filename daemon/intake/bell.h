// What a coroutine waits on: a deadline, a ring, or a descriptor that became ready, whichever comes
// first.
//
// One thread; one waiter. A ring while nobody waits is kept for the next wait.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/steady_timer.hpp>

namespace girdle::intake {

class Bell {
 public:
  using Descriptor = boost::asio::posix::stream_descriptor;

  explicit Bell(boost::asio::any_io_executor executor) : timer_(std::move(executor)) {}

  void ring() {
    rung_ = true;
    timer_.cancel();
  }

  // Ends by throwing when the coroutine is cancelled, as operations of Asio do.
  boost::asio::awaitable<void> wait(boost::asio::steady_timer::time_point until,
                                    Descriptor* descriptor = nullptr,
                                    Descriptor::wait_type ready = Descriptor::wait_read);

 private:
  boost::asio::steady_timer timer_;
  bool rung_ = false;
};

}  // namespace girdle::intake
