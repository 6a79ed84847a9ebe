#include <utility>

#include "framing/framer.h"
#include "intake/folder_intake.h"
#include "intake/intake.h"
#include "intake/line.h"
#include "intake/line_frames.h"
#include "intake/line_intake.h"
#include "intake/line_session.h"
#include "intake/post_intake.h"
#include "intake/serial_port.h"

namespace girdle::intake {
namespace {

using Made = base::Result<std::unique_ptr<Intake>>;

// What an intake's source needs to be made.
struct Maker {
  const config::Intake& settings;
  Sink& sink;
  base::Clock& clock;
  base::Log log;
  boost::asio::any_io_executor executor;

  Made operator()(const config::FolderIntake&) const {
    return std::unique_ptr<Intake>(std::make_unique<FolderIntake>(
        settings, std::make_shared<PosixFiles>(), sink, clock, log, executor));
  }

  Made operator()(const config::SerialIntake& serial) const {
    std::string wrong = wrong_serial_settings(serial);
    if (!wrong.empty()) return base::input_error("intake " + settings.name + ": " + wrong);
    return line(make_serial_line(serial, log), serial.framing);
  }

  Made operator()(const config::TcpIntake& tcp) const {
    return line(make_tcp_line(tcp, executor), tcp.framing);
  }

  Made operator()(const config::PostIntake&) const {
    return std::unique_ptr<Intake>(std::make_unique<PostIntake>(settings.name, executor));
  }

  Made line(std::unique_ptr<Line> line, const config::Framing& framing) const {
    const std::string name(line->name());
    if (framing.kind == config::Framing::Kind::kAstm && framing.max_bytes > 0) {
      return made(std::move(line), [&](Bell& bell, Status& status) {
        return std::make_unique<LineSession>(settings.name, name, framing, sink, clock, bell,
                                             status, LineSession::Times{});
      });
    }
    auto framer = framing::make_framer(framing);
    if (!framer) return base::input_error("intake " + settings.name + ": " + framer.error().text);
    return made(std::move(line), [&](Bell& bell, Status& status) {
      return std::make_unique<LineFrames>(settings.name, name, std::move(framer).value(), sink,
                                          clock, bell, status);
    });
  }

  Made made(std::unique_ptr<Line> line, const MakeDesk& make_desk) const {
    return std::unique_ptr<Intake>(
        std::make_unique<LineIntake>(settings.name, std::move(line), make_desk, log, executor));
  }
};

}  // namespace

Made make_intake(const config::Intake& settings, Sink& sink, base::Clock& clock, base::Log log,
                 boost::asio::any_io_executor executor) {
  return std::visit(Maker{settings, sink, clock, std::move(log), std::move(executor)},
                    settings.source);
}

}  // namespace girdle::intake
