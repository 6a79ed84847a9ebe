// A serial or TCP line: opened, read, and answered where its frames ask for it; opened again when
// it is lost. What becomes of the bytes is its desk's.
//
// Reading stops while the sink's queue is full or too much waits for its commit. Trouble is said
// once, and again after a minute at the earliest. What the desk counts is told once an hour while
// it grows, and at the end.
#pragma once

#include <boost/asio/posix/stream_descriptor.hpp>
#include <memory>
#include <random>
#include <string>

#include "intake/backoff.h"
#include "intake/bell.h"
#include "intake/intake.h"
#include "intake/line.h"
#include "intake/line_desk.h"

namespace girdle::intake {

class LineIntake final : public Intake {
 public:
  LineIntake(std::string name, std::unique_ptr<Line> line, const MakeDesk& make_desk, base::Log log,
             boost::asio::any_io_executor executor);

  boost::asio::awaitable<void> run() override;
  boost::asio::awaitable<void> scan_once() override { co_return; }
  std::string_view name() const override { return name_; }
  Status status() const override;

 private:
  boost::asio::awaitable<void> serve();
  boost::asio::awaitable<void> pause();
  // Reads until the line is lost; gives the reason.
  boost::asio::awaitable<std::string> read_all(boost::asio::posix::stream_descriptor& descriptor);
  // After a read that gave no bytes: why the line is lost; empty when reading goes on.
  boost::asio::awaitable<std::string> on_nothing(boost::asio::posix::stream_descriptor& descriptor,
                                                 ssize_t count, int error);
  // Sends the desk's answer. Why the line is lost; empty when it is not.
  boost::asio::awaitable<std::string> send_answer(
      boost::asio::posix::stream_descriptor& descriptor);
  void on_open();
  void tell_counts();
  void on_trouble(std::string why);

  const std::string name_;
  boost::asio::any_io_executor executor_;
  const std::unique_ptr<Line> line_;
  base::Log log_;
  Bell bell_;
  Status status_;
  const std::unique_ptr<LineDesk> desk_;
  Backoff backoff_;
  std::minstd_rand random_;
  std::string buffer_;
  int ends_in_a_row_ = 0;
  std::string said_;      // the trouble that was last logged, while it lasts
  SteadyTime said_at_{};  // when a warning was last logged
  std::string counts_told_;
  SteadyTime counts_told_at_ = std::chrono::steady_clock::now();
};

}  // namespace girdle::intake
