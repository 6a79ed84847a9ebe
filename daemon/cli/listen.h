// Listens on a line for a while. Nothing is sent: an instrument that waits to be acknowledged keeps
// what it has, for the service.
#pragma once

#include <chrono>
#include <cstddef>
#include <functional>
#include <string>

#include "base/result.h"
#include "config/settings.h"

namespace girdle::cli {

struct Heard {
  std::string bytes;
  size_t damaged = 0;  // bytes that came with a parity or framing error; they are among `bytes`
};

struct Listening {
  std::chrono::seconds time{60};
  size_t most = 1 << 20;  // bytes; more than enough to draft from
};

// Both block until the time is over, `most` bytes came, the other end is gone, or the person
// interrupts (SIGINT): then what came so far counts. The error says why the line does not open.
base::Result<Heard> listen_on(const config::SerialIntake& line, const Listening& listening);
base::Result<Heard> listen_on(const config::TcpIntake& line, const Listening& listening);

// Takes the marks of a terminal in the mode PARMRK (termios(3)) out of what it gave.
Heard without_parity_marks(std::string_view raw);

}  // namespace girdle::cli
