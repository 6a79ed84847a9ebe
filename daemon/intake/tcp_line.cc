#include <netinet/in.h>
#include <netinet/tcp.h>
#include <sys/socket.h>
#include <unistd.h>

#include <boost/asio/posix/stream_descriptor.hpp>
#include <cerrno>
#include <utility>

#include "intake/bell.h"
#include "intake/line.h"
#include "intake/name_lookup.h"

namespace girdle::intake {

namespace asio = boost::asio;

namespace {

using std::chrono::milliseconds;

constexpr milliseconds kLookupDeadline{5000};
constexpr milliseconds kConnectDeadline{5000};  // for one address
constexpr size_t kMostAddresses = 3;

// A peer that went away without a word is noticed within about a minute.
void keep_alive(int socket) {
  const auto set = [&](int level, int option, int value) {
    ::setsockopt(socket, level, option, &value, sizeof value);
  };
  set(SOL_SOCKET, SO_KEEPALIVE, 1);
  set(IPPROTO_TCP, TCP_KEEPIDLE, 30);
  set(IPPROTO_TCP, TCP_KEEPINTVL, 10);
  set(IPPROTO_TCP, TCP_KEEPCNT, 3);
}

class TcpLine final : public Line {
 public:
  TcpLine(const config::TcpIntake& settings, asio::any_io_executor executor)
      : name_((settings.host.find(':') == std::string::npos ? settings.host
                                                            : "[" + settings.host + "]") +
              ":" + std::to_string(settings.port)),
        executor_(executor),
        lookup_(executor, settings.host, settings.port) {}

  std::string_view name() const override { return name_; }

  asio::awaitable<base::Result<Descriptor>> open() override {
    auto addresses = co_await lookup_.find(kLookupDeadline);
    if (!addresses) co_return std::move(addresses).error();
    int error = EADDRNOTAVAIL;
    for (size_t i = 0; i < std::min(addresses->size(), kMostAddresses); ++i) {
      Descriptor socket;
      error = co_await connect((*addresses)[i], socket);
      if (error == 0) co_return std::move(socket);
    }
    co_return base::environment_error("no connection to " + name_ + ": " + base::errno_text(error));
  }

  void feed(std::string_view raw, LineDesk& desk) override { desk.feed(raw); }

  ssize_t write(int descriptor, std::string_view bytes) override {
    return ::send(descriptor, bytes.data(), bytes.size(), MSG_NOSIGNAL);
  }

  std::string why_at_end(int) override { return "the peer closed the connection"; }

  Backoff backoff() const override { return Backoff(milliseconds(250), milliseconds(30000), 0.5); }

 private:
  asio::awaitable<int> connect(const Address& address, Descriptor& out) {
    Descriptor socket(
        ::socket(address.bytes.ss_family, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0));
    if (!socket) co_return errno;
    keep_alive(socket.get());
    if (::connect(socket.get(), reinterpret_cast<const sockaddr*>(&address.bytes),
                  address.length) != 0) {
      if (errno != EINPROGRESS) co_return errno;
      const int error = co_await connected(socket.get());
      if (error != 0) co_return error;
    }
    out = std::move(socket);
    co_return 0;
  }

  // The outcome of a connect that is under way.
  asio::awaitable<int> connected(int socket) {
    asio::posix::stream_descriptor waiting(executor_, ::dup(socket));
    co_await Bell(executor_).wait(std::chrono::steady_clock::now() + kConnectDeadline, &waiting,
                                  asio::posix::stream_descriptor::wait_write);
    int error = 0;
    socklen_t length = sizeof error;
    if (::getsockopt(socket, SOL_SOCKET, SO_ERROR, &error, &length) != 0) co_return errno;
    if (error != 0) co_return error;
    sockaddr_storage peer;
    length = sizeof peer;
    co_return ::getpeername(socket, reinterpret_cast<sockaddr*>(&peer), &length) == 0 ? 0
                                                                                      : ETIMEDOUT;
  }

  const std::string name_;
  asio::any_io_executor executor_;
  NameLookup lookup_;
};

}  // namespace

std::unique_ptr<Line> make_tcp_line(const config::TcpIntake& settings,
                                    asio::any_io_executor executor) {
  return std::make_unique<TcpLine>(settings, std::move(executor));
}

}  // namespace girdle::intake
