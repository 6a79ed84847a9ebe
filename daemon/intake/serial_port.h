// A serial device, opened for nobody else: locked, in raw mode, with errors of the line marked in
// what is read (see parity_marks.h).
//
// Blocking calls, each short. The lock is taken before the device's mode is touched: two programs
// on one line split its bytes between them. Nothing is written here; DTR rises when the device is
// opened.
#pragma once

#include <cstdint>

#include "base/result.h"
#include "config/settings.h"
#include "intake/files.h"

namespace girdle::intake {

// Whether the rate is one of the table that termios knows.
bool is_known_baud(uint32_t baud);

// Settings that no device can have; an empty text when they are good.
std::string wrong_serial_settings(const config::SerialIntake& settings);

struct OpenPort {
  Descriptor descriptor;  // non-blocking
  std::string doubt;      // what the driver did not take of the settings; empty when it took all
};

// The error says what is wrong, and who holds the device where another process does.
base::Result<OpenPort> open_serial_port(const config::SerialIntake& settings);

// After a read of nothing: true when the device is gone for good, false when it only has nothing to
// say.
bool is_hung_up(int port);

// Lets go of the device so that closing does not wait and the next program may open it.
void release_serial_port(int port);

}  // namespace girdle::intake
