#include "cli/listen.h"

#include <netdb.h>
#include <poll.h>
#include <sys/signalfd.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <memory>

#include "intake/files.h"
#include "intake/serial_port.h"

namespace girdle::cli {
namespace {

using base::environment_error;
using base::Result;
using base::Descriptor;
using Clock = std::chrono::steady_clock;

constexpr std::chrono::seconds kConnectPatience{10};

// SIGINT comes as something to read while this lives, and ends nothing else.
class Interrupt {
 public:
  Interrupt() {
    sigset_t signals;
    sigemptyset(&signals);
    sigaddset(&signals, SIGINT);
    pthread_sigmask(SIG_BLOCK, &signals, &before_);
    descriptor_ = Descriptor(::signalfd(-1, &signals, SFD_CLOEXEC | SFD_NONBLOCK));
  }
  ~Interrupt() {
    signalfd_siginfo taken;
    while (::read(descriptor_.get(), &taken, sizeof taken) > 0) {
    }
    pthread_sigmask(SIG_SETMASK, &before_, nullptr);
  }
  Interrupt(const Interrupt&) = delete;
  Interrupt& operator=(const Interrupt&) = delete;
  int get() const { return descriptor_.get(); }

 private:
  sigset_t before_;
  Descriptor descriptor_;
};

int millis_until(Clock::time_point end) {
  const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(end - Clock::now());
  return static_cast<int>(std::max<int64_t>(0, left.count()));
}

// Until the time is over or there is no more to come.
std::string read_all(int line, bool is_terminal, const Listening& listening) {
  std::string bytes;
  const Interrupt interrupt;
  const Clock::time_point end = Clock::now() + listening.time;
  std::string piece(64 << 10, '\0');
  while (bytes.size() < listening.most && millis_until(end) > 0) {
    pollfd waits[] = {{line, POLLIN, 0}, {interrupt.get(), POLLIN, 0}};
    if (::poll(waits, 2, millis_until(end)) <= 0) continue;
    if (waits[1].revents != 0) break;
    const ssize_t got = ::read(line, piece.data(), piece.size());
    if (got > 0) bytes.append(piece, 0, static_cast<size_t>(got));
    if (got < 0 && errno != EAGAIN && errno != EINTR) break;
    // A terminal may have nothing to say and be there all the same.
    if (got == 0 && (!is_terminal || intake::is_hung_up(line))) break;
  }
  return bytes;
}

// 0, or an errno value.
int connect_within(int socket, const addrinfo& address) {
  if (::connect(socket, address.ai_addr, address.ai_addrlen) == 0) return 0;
  if (errno != EINPROGRESS) return errno;
  const Clock::time_point end = Clock::now() + kConnectPatience;
  pollfd wait{socket, POLLOUT, 0};
  while (::poll(&wait, 1, millis_until(end)) <= 0) {
    if (millis_until(end) == 0) return ETIMEDOUT;
  }
  int error = 0;
  socklen_t length = sizeof error;
  return ::getsockopt(socket, SOL_SOCKET, SO_ERROR, &error, &length) == 0 ? error : errno;
}

struct FreeAddresses {
  void operator()(addrinfo* list) const { ::freeaddrinfo(list); }
};

Result<Descriptor> connect_to(const config::TcpIntake& line) {
  const std::string name = line.host + ":" + std::to_string(line.port);
  addrinfo hints{};
  hints.ai_socktype = SOCK_STREAM;
  addrinfo* list = nullptr;
  const int failed =
      ::getaddrinfo(line.host.c_str(), std::to_string(line.port).c_str(), &hints, &list);
  if (failed != 0) return environment_error(name + ": " + ::gai_strerror(failed));
  const std::unique_ptr<addrinfo, FreeAddresses> addresses(list);
  int error = EADDRNOTAVAIL;
  for (const addrinfo* at = addresses.get(); at != nullptr; at = at->ai_next) {
    Descriptor socket(::socket(at->ai_family, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0));
    error = socket ? connect_within(socket.get(), *at) : errno;
    if (error == 0) return socket;
  }
  return environment_error("no connection to " + name + ": " + base::errno_text(error));
}

}  // namespace

Heard without_parity_marks(std::string_view raw) {
  Heard heard;
  for (size_t i = 0; i < raw.size(); ++i) {
    if (raw[i] != '\xFF' || i + 1 == raw.size()) {
      heard.bytes += raw[i];
    } else if (raw[i + 1] == '\xFF') {
      heard.bytes += raw[++i];
    } else if (raw[i + 1] == '\0' && i + 2 < raw.size()) {
      i += 2;
      ++heard.damaged;
      heard.bytes += raw[i];
    } else {
      heard.bytes += raw[i];
    }
  }
  return heard;
}

Result<Heard> listen_on(const config::SerialIntake& line, const Listening& listening) {
  auto port = intake::open_serial_port(line);
  if (!port) return port.error();
  const std::string raw = read_all(port->descriptor.get(), true, listening);
  intake::release_serial_port(port->descriptor.get());
  return without_parity_marks(raw);
}

Result<Heard> listen_on(const config::TcpIntake& line, const Listening& listening) {
  auto socket = connect_to(line);
  if (!socket) return socket.error();
  return Heard{read_all(socket->get(), false, listening), 0};
}

}  // namespace girdle::cli
