// A serial or TCP line: opened, read, cut into frames; opened again when it is lost.
//
// A partial frame of a lost line is set aside. Reading stops while the sink's queue is full or too
// many frames wait for their commit. Trouble is said once, and again after a minute at the
// earliest.
#pragma once

#include <boost/asio/posix/stream_descriptor.hpp>
#include <memory>
#include <random>
#include <string>

#include "framing/framer.h"
#include "intake/backoff.h"
#include "intake/bell.h"
#include "intake/intake.h"
#include "intake/line.h"
#include "intake/line_frames.h"

namespace girdle::intake {

class LineIntake final : public Intake {
 public:
  LineIntake(std::string name, std::unique_ptr<Line> line, std::unique_ptr<framing::Framer> framer,
             Sink& sink, base::Clock& clock, base::Log log, boost::asio::any_io_executor executor);

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
  void on_open();
  void on_trouble(std::string why);

  const std::string name_;
  boost::asio::any_io_executor executor_;
  const std::unique_ptr<Line> line_;
  const std::unique_ptr<framing::Framer> framer_;
  base::Log log_;
  Bell bell_;
  Status status_;
  LineFrames frames_;
  Backoff backoff_;
  std::minstd_rand random_;
  std::string buffer_;
  int ends_in_a_row_ = 0;
  std::string said_;      // the trouble that was last logged, while it lasts
  SteadyTime said_at_{};  // when a warning was last logged
};

}  // namespace girdle::intake
