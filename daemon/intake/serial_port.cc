#include "intake/serial_port.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <termios.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <fstream>
#include <sstream>

namespace girdle::intake {
namespace {

struct Baud {
  uint32_t rate;
  speed_t code;
};
constexpr Baud kBauds[] = {
    {50, B50},           {75, B75},           {110, B110},         {134, B134},
    {150, B150},         {200, B200},         {300, B300},         {600, B600},
    {1200, B1200},       {1800, B1800},       {2400, B2400},       {4800, B4800},
    {9600, B9600},       {19200, B19200},     {38400, B38400},     {57600, B57600},
    {115200, B115200},   {230400, B230400},   {460800, B460800},   {500000, B500000},
    {576000, B576000},   {921600, B921600},   {1000000, B1000000}, {1152000, B1152000},
    {1500000, B1500000}, {2000000, B2000000}, {2500000, B2500000}, {3000000, B3000000},
    {3500000, B3500000}, {4000000, B4000000}};

const Baud* find_baud(uint32_t rate) {
  const auto* found = std::find_if(std::begin(kBauds), std::end(kBauds),
                                   [&](Baud baud) { return baud.rate == rate; });
  return found == std::end(kBauds) ? nullptr : found;
}

tcflag_t size_flag(int data_bits) {
  switch (data_bits) {
    case 5:
      return CS5;
    case 6:
      return CS6;
    case 7:
      return CS7;
    default:
      return CS8;
  }
}

tcflag_t parity_flags(config::SerialIntake::Parity parity) {
  switch (parity) {
    case config::SerialIntake::Parity::kNone:
      return 0;
    case config::SerialIntake::Parity::kEven:
      return PARENB;
    case config::SerialIntake::Parity::kOdd:
      return PARENB | PARODD;
  }
  return 0;
}

// The letters of a line of /proc/locks: "1: FLOCK ADVISORY WRITE 812 00:18:5 0 EOF" (proc(5)).
std::string process_of_lock(const struct stat& device) {
  char place[64];
  std::snprintf(place, sizeof place, "%02x:%02x:%llu", major(device.st_dev), minor(device.st_dev),
                static_cast<unsigned long long>(device.st_ino));
  std::ifstream locks("/proc/locks");
  for (std::string line; std::getline(locks, line);) {
    std::istringstream words(line);
    std::string number, kind, advisory, access, process, where;
    words >> number >> kind >> advisory >> access >> process >> where;
    if (kind == "FLOCK" && where == place) return process;
  }
  return {};
}

std::string holder_of(int port) {
  struct stat device;
  const std::string process = ::fstat(port, &device) == 0 ? process_of_lock(device) : std::string();
  if (process.empty()) return "another process";
  std::string name;
  std::getline(std::ifstream("/proc/" + process + "/comm"), name);
  return "process " + process + (name.empty() ? std::string() : " (" + name + ")");
}

base::Error failed(const std::string& device, const std::string& what) {
  return base::environment_error(device + ": " + what);
}

termios mode_of(const config::SerialIntake& settings, termios mode) {
  ::cfmakeraw(&mode);
  mode.c_iflag &= ~static_cast<tcflag_t>(IXON | IXOFF | IXANY | IGNPAR | IGNBRK | ISTRIP);
  mode.c_iflag |= INPCK | PARMRK;
  mode.c_cflag &= ~static_cast<tcflag_t>(CSIZE | PARENB | PARODD | CSTOPB | CRTSCTS);
  mode.c_cflag |= CLOCAL | CREAD | size_flag(settings.data_bits) | parity_flags(settings.parity);
  if (settings.stop_bits == 2) mode.c_cflag |= CSTOPB;
  mode.c_cc[VMIN] = 1;
  mode.c_cc[VTIME] = 0;
  const speed_t speed = find_baud(settings.baud)->code;
  ::cfsetispeed(&mode, speed);
  ::cfsetospeed(&mode, speed);
  return mode;
}

// tcsetattr succeeds when it could set anything at all.
std::string differences(const termios& wanted, const termios& got) {
  constexpr tcflag_t kLine = CSIZE | PARENB | PARODD | CSTOPB;
  std::string text;
  if (::cfgetispeed(&wanted) != ::cfgetispeed(&got)) text += "the baud rate, ";
  if ((wanted.c_cflag & kLine) != (got.c_cflag & kLine)) text += "data bits, parity or stop bits, ";
  if (wanted.c_iflag != got.c_iflag || wanted.c_lflag != got.c_lflag) text += "the raw mode, ";
  if (!text.empty()) text.resize(text.size() - 2);
  return text;
}

}  // namespace

bool is_known_baud(uint32_t baud) { return find_baud(baud) != nullptr; }

std::string wrong_serial_settings(const config::SerialIntake& settings) {
  if (settings.device.empty()) return "the serial line names no device, e.g. /dev/serial/by-id/…";
  if (!is_known_baud(settings.baud)) {
    return "baud " + std::to_string(settings.baud) +
           " is no rate of a serial line; usual are 9600, 19200, 115200";
  }
  if (settings.data_bits < 5 || settings.data_bits > 8)
    return "data_bits must be 5 to 8, usually 8";
  if (settings.stop_bits < 1 || settings.stop_bits > 2)
    return "stop_bits must be 1 or 2, usually 1";
  return {};
}

base::Result<OpenPort> open_serial_port(const config::SerialIntake& settings) {
  OpenPort port;
  port.descriptor =
      Descriptor(::open(settings.device.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC));
  const int number = port.descriptor.get();
  if (number < 0 && errno == EBUSY) return failed(settings.device, "another process holds it");
  if (number < 0) return failed(settings.device, base::errno_text(errno));
  if (::flock(number, LOCK_EX | LOCK_NB) != 0) {
    return failed(settings.device,
                  errno == EWOULDBLOCK ? holder_of(number) + " holds it" : base::errno_text(errno));
  }
  termios before;
  if (::tcgetattr(number, &before) != 0) {
    return failed(settings.device,
                  errno == ENOTTY ? "it is no serial device" : base::errno_text(errno));
  }
  if (::ioctl(number, TIOCEXCL) != 0) return failed(settings.device, base::errno_text(errno));
  const termios wanted = mode_of(settings, before);
  termios got;
  if (::tcsetattr(number, TCSANOW, &wanted) != 0 || ::tcgetattr(number, &got) != 0) {
    return failed(settings.device, base::errno_text(errno));
  }
  port.doubt = differences(wanted, got);
  return port;
}

bool is_hung_up(int port) {
  termios mode;
  return ::tcgetattr(port, &mode) != 0;
}

void release_serial_port(int port) {
  ::tcflush(port, TCIOFLUSH);
  ::ioctl(port, TIOCNXCL);
}

}  // namespace girdle::intake
