// How one kind of line is opened, read and written; what is common to all of them is LineIntake's.
#pragma once

#include <sys/types.h>

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <memory>
#include <string>
#include <string_view>

#include "base/log.h"
#include "base/result.h"
#include "config/settings.h"
#include "intake/backoff.h"
#include "intake/files.h"
#include "intake/line_desk.h"

namespace girdle::intake {

// On the intake's thread.
class Line {
 public:
  virtual ~Line() = default;

  // The device, or "host:port".
  virtual std::string_view name() const = 0;
  // A descriptor that does not block. Ends within 20 seconds.
  virtual boost::asio::awaitable<base::Result<Descriptor>> open() = 0;
  // What was read, to the desk.
  virtual void feed(std::string_view raw, LineDesk& desk) = 0;
  // As write(2): without waiting, and without a signal where nobody reads.
  virtual ssize_t write(int descriptor, std::string_view bytes) = 0;
  // After a read that gave nothing: why the line is lost; empty when it is not, and only has
  // nothing to say.
  virtual std::string why_at_end(int descriptor) = 0;
  virtual void release(int) {}
  virtual Backoff backoff() const = 0;
};

std::unique_ptr<Line> make_serial_line(const config::SerialIntake& settings, base::Log log);
std::unique_ptr<Line> make_tcp_line(const config::TcpIntake& settings,
                                    boost::asio::any_io_executor executor);

}  // namespace girdle::intake
