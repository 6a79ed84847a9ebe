// Runs what waits in a context on the calling thread, for tests: a coroutine to its end, or anything until something holds.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>
#include <chrono>
#include <exception>
#include <optional>

namespace girdle::delivery {

template <class T>
boost::asio::awaitable<void> keep(boost::asio::awaitable<T> task, std::optional<T>& result) {
  result.emplace(co_await std::move(task));
}

template <class T>
T run(boost::asio::io_context& io, boost::asio::awaitable<T> task) {
  std::optional<T> result;
  std::exception_ptr fault;
  bool is_over = false;
  boost::asio::co_spawn(io, keep(std::move(task), result), [&](std::exception_ptr thrown) {
    fault = thrown;
    is_over = true;
  });
  io.restart();
  while (!is_over && io.run_one() > 0) {
  }
  if (fault) std::rethrow_exception(fault);
  return std::move(result.value());
}

// False where it does not hold within that time.
template <class Predicate>
bool run_until(boost::asio::io_context& io, Predicate holds, std::chrono::milliseconds within) {
  const auto deadline = std::chrono::steady_clock::now() + within;
  while (!holds()) {
    if (std::chrono::steady_clock::now() > deadline) return false;
    io.restart();
    io.run_one_for(std::chrono::milliseconds(5));
  }
  return true;
}

}  // namespace girdle::delivery
