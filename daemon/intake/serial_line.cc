#include <unistd.h>

#include <utility>

#include "intake/line.h"
#include "intake/parity_marks.h"
#include "intake/serial_port.h"

namespace girdle::intake {
namespace {

class SerialLine final : public Line {
 public:
  SerialLine(const config::SerialIntake& settings, base::Log log)
      : settings_(settings), log_(std::move(log)) {}

  std::string_view name() const override { return settings_.device; }

  boost::asio::awaitable<base::Result<Descriptor>> open() override {
    auto opened = open_serial_port(settings_);
    if (!opened) co_return std::move(opened).error();
    if (!opened->doubt.empty() && opened->doubt != doubt_) {
      log_.warning("the device did not take all of its settings",
                   {{"device", settings_.device}, {"not_taken", opened->doubt}});
    }
    doubt_ = std::move(opened->doubt);
    marks_.reset();
    co_return std::move(opened->descriptor);
  }

  void feed(std::string_view raw, LineDesk& desk) override { marks_.feed(raw, desk); }

  ssize_t write(int descriptor, std::string_view bytes) override {
    return ::write(descriptor, bytes.data(), bytes.size());
  }

  std::string why_at_end(int descriptor) override {
    return is_hung_up(descriptor) ? std::string("it was unplugged or hung up") : std::string();
  }

  void release(int descriptor) override { release_serial_port(descriptor); }

  Backoff backoff() const override {
    return Backoff(std::chrono::milliseconds(250), std::chrono::milliseconds(5000), 0);
  }

 private:
  const config::SerialIntake settings_;
  const base::Log log_;
  ParityMarks marks_;
  std::string doubt_;
};

}  // namespace

std::unique_ptr<Line> make_serial_line(const config::SerialIntake& settings, base::Log log) {
  return std::make_unique<SerialLine>(settings, std::move(log));
}

}  // namespace girdle::intake
