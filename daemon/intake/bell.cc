#include "intake/bell.h"

#include <boost/asio/deferred.hpp>
#include <boost/asio/experimental/parallel_group.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/use_awaitable.hpp>

namespace girdle::intake {

namespace asio = boost::asio;

asio::awaitable<void> Bell::wait(asio::steady_timer::time_point until, Descriptor* descriptor,
                                 Descriptor::wait_type ready) {
  if (!rung_) {
    timer_.expires_at(until);
    if (descriptor == nullptr) {
      boost::system::error_code ignored;
      co_await timer_.async_wait(asio::redirect_error(asio::use_awaitable, ignored));
    } else {
      co_await asio::experimental::make_parallel_group(
          timer_.async_wait(asio::deferred), descriptor->async_wait(ready, asio::deferred))
          .async_wait(asio::experimental::wait_for_one(), asio::use_awaitable);
    }
  }
  rung_ = false;
}

}  // namespace girdle::intake
