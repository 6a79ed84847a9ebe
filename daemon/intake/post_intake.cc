#include "intake/post_intake.h"

#include <boost/asio/redirect_error.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>

namespace girdle::intake {

namespace asio = boost::asio;

PostIntake::PostIntake(std::string name, asio::any_io_executor executor)
    : name_(std::move(name)), executor_(std::move(executor)) {
  status_.up = true;
}

asio::awaitable<void> PostIntake::run() {
  asio::steady_timer never(executor_, asio::steady_timer::time_point::max());
  boost::system::error_code cancelled;
  co_await never.async_wait(asio::redirect_error(asio::use_awaitable, cancelled));
}

asio::awaitable<void> PostIntake::scan_once() { co_return; }

void PostIntake::took(uint64_t bytes, bool known, uint64_t set_aside, base::Instant at) {
  ++status_.documents;
  status_.bytes += bytes;
  status_.known += known ? 1 : 0;
  status_.set_aside += set_aside;
  status_.last_at = at;
}

}  // namespace girdle::intake
