// A TCP line's other end.
#pragma once

#include <arpa/inet.h>
#include <gtest/gtest.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include <string>
#include <string_view>
#include <utility>

namespace girdle::intake {

// The instrument's end: listens on 127.0.0.1.
class Peer {
 public:
  Peer() { listen(0); }
  ~Peer() {
    hang_up();
    stop_listening();
  }
  Peer(const Peer&) = delete;
  Peer& operator=(const Peer&) = delete;

  void listen(uint16_t port) {
    listener_ = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
    const int yes = 1;
    ::setsockopt(listener_, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
    sockaddr_in address = {};
    address.sin_family = AF_INET;
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    address.sin_port = htons(port);
    ASSERT_EQ(::bind(listener_, reinterpret_cast<sockaddr*>(&address), sizeof address), 0);
    ASSERT_EQ(::listen(listener_, 8), 0);
    socklen_t length = sizeof address;
    ASSERT_EQ(::getsockname(listener_, reinterpret_cast<sockaddr*>(&address), &length), 0);
    port_ = ntohs(address.sin_port);
  }
  void stop_listening() { ::close(std::exchange(listener_, -1)); }

  bool accept() {
    connection_ = ::accept4(listener_, nullptr, nullptr, SOCK_CLOEXEC);
    return connection_ >= 0;
  }
  void send(std::string_view bytes) const {
    ASSERT_EQ(::send(connection_, bytes.data(), bytes.size(), MSG_NOSIGNAL),
              static_cast<ssize_t>(bytes.size()));
  }
  // What came back to the instrument so far.
  std::string received() const {
    char buffer[256];
    const ssize_t count = ::recv(connection_, buffer, sizeof buffer, MSG_DONTWAIT);
    return {buffer, count > 0 ? static_cast<size_t>(count) : 0};
  }
  void hang_up() {
    if (connection_ >= 0) ::close(std::exchange(connection_, -1));
  }

  uint16_t port() const { return port_; }

 private:
  int listener_ = -1;
  int connection_ = -1;
  uint16_t port_ = 0;
};

}  // namespace girdle::intake
