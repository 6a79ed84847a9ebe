// Runs a coroutine to its end on the calling thread, for tests.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>
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

}  // namespace girdle::delivery
