// Names to addresses. The system's resolver blocks and cannot be cancelled, so each lookup has a
// thread of its own, which is left behind when it does not come back: a dead name delays neither
// other names nor the stop.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/ip/address.hpp>
#include <chrono>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "base/result.h"

namespace girdle::delivery {

// All calls come from the one thread that runs the executor. At most one lookup of a name is under
// way at a time. Must be destroyed before the executor's context, and after every coroutine that
// waits in it.
class Resolver {
 public:
  using Addresses = std::vector<boost::asio::ip::address>;
  // Runs on a thread of its own; may block for as long as it likes.
  using Lookup = std::function<base::Result<Addresses>(const std::string& host)>;
  using Time = std::chrono::steady_clock::time_point;

  struct Options {
    std::chrono::milliseconds timeout{5000};     // for one lookup, as seen by a waiter
    std::chrono::milliseconds keep{30000};       // how long found addresses are used again
    std::chrono::milliseconds keep_error{2000};  // how long "there is no such name" is
    size_t threads = 32;  // lookups under way at a time, those left behind included
  };

  explicit Resolver(boost::asio::any_io_executor executor);
  Resolver(boost::asio::any_io_executor executor, Options options, Lookup lookup);
  ~Resolver();
  Resolver(const Resolver&) = delete;
  Resolver& operator=(const Resolver&) = delete;

  // Never an empty list. The error names the host.
  boost::asio::awaitable<base::Result<Addresses>> resolve(std::string host, Time deadline);

  // What was found turned out to be of no use: the next resolve() looks again.
  void forget(const std::string& host);

  // getaddrinfo; what is used unless a test gives another.
  static base::Result<Addresses> system_lookup(const std::string& host);

 private:
  struct State;
  std::shared_ptr<State> state_;
};

}  // namespace girdle::delivery
