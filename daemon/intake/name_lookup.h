// Addresses of a host name, with a deadline. The system's lookup blocks and cannot be stopped, so
// it runs on a thread of its own, which outlives the deadline and then ends by itself; no second
// one is begun for the same name before.
//
// On the intake's thread.
#pragma once

#include <sys/socket.h>

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <chrono>
#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "base/result.h"

namespace girdle::intake {

struct Address {
  sockaddr_storage bytes;
  socklen_t length;
};

class NameLookup {
 public:
  NameLookup(boost::asio::any_io_executor executor, std::string host, uint16_t port);

  // Numeric addresses (1.2.3.4, ::1) do not wait.
  boost::asio::awaitable<base::Result<std::vector<Address>>> find(
      std::chrono::milliseconds deadline);

 private:
  struct Pending;

  boost::asio::any_io_executor executor_;
  const std::string host_;
  const std::string port_;
  std::shared_ptr<Pending> pending_;
};

}  // namespace girdle::intake
