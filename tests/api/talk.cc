#include "api/talk.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <openssl/ssl.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>

#include "base/text.h"

namespace girdle::api {
namespace {

using Clock = std::chrono::steady_clock;
constexpr auto kPatience = std::chrono::seconds(10);

bool wait_for(int socket, short what, Clock::time_point until) {
  for (;;) {
    const auto left = std::chrono::ceil<std::chrono::milliseconds>(until - Clock::now()).count();
    pollfd one{socket, what, 0};
    const int ready = ::poll(&one, 1, static_cast<int>(std::max<int64_t>(left, 0)));
    if (ready < 0 && errno == EINTR) continue;
    return ready > 0;
  }
}

}  // namespace

const std::string& Got::field(const std::string& name) const {
  static const std::string none;
  const auto at = fields.find(name);
  return at == fields.end() ? none : at->second;
}

Talk::Talk(uint16_t port) {
  socket_ = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_port = htons(port);
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  if (::connect(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0) close();
  ::fcntl(socket_, F_SETFL, O_NONBLOCK);
}

Talk::Talk(uint16_t port, SSL_CTX* tls) : Talk(port) {
  if (socket_ < 0) return;
  tls_ = SSL_new(tls);
  SSL_set_fd(tls_, socket_);
  const auto until = Clock::now() + kPatience;
  for (;;) {
    const int done = SSL_connect(tls_);
    if (done == 1) return;
    const int why = SSL_get_error(tls_, done);
    const bool waits = why == SSL_ERROR_WANT_READ || why == SSL_ERROR_WANT_WRITE;
    if (!waits || !wait_for(socket_, why == SSL_ERROR_WANT_READ ? POLLIN : POLLOUT, until)) {
      close();
      return;
    }
  }
}

Talk::~Talk() { close(); }

void Talk::close() {
  if (tls_ != nullptr) SSL_free(tls_);
  tls_ = nullptr;
  if (socket_ >= 0) ::close(socket_);
  socket_ = -1;
}

void Talk::finish() { ::shutdown(socket_, SHUT_WR); }

void Talk::reset() {
  const linger at_once{1, 0};
  ::setsockopt(socket_, SOL_SOCKET, SO_LINGER, &at_once, sizeof at_once);
  close();
}

void Talk::take_little() {
  const int least = 1;  // the kernel takes its own least
  ::setsockopt(socket_, SOL_SOCKET, SO_RCVBUF, &least, sizeof least);
}

std::string Talk::tls_version() const { return tls_ == nullptr ? "" : SSL_get_version(tls_); }

std::string Talk::protocol() const {
  const unsigned char* name = nullptr;
  unsigned size = 0;
  SSL_get0_alpn_selected(tls_, &name, &size);
  return {reinterpret_cast<const char*>(name), size};
}

bool Talk::send(std::string_view bytes, std::chrono::milliseconds most) {
  const auto until = Clock::now() + most;
  while (!bytes.empty()) {
    if (socket_ < 0) return false;
    const long sent = tls_ != nullptr ? SSL_write(tls_, bytes.data(), static_cast<int>(bytes.size()))
                                      : ::send(socket_, bytes.data(), bytes.size(), MSG_NOSIGNAL);
    if (sent > 0) {
      bytes.remove_prefix(static_cast<size_t>(sent));
      continue;
    }
    const bool waits =
        tls_ != nullptr ? SSL_get_error(tls_, static_cast<int>(sent)) == SSL_ERROR_WANT_WRITE : errno == EAGAIN;
    if (!waits || !wait_for(socket_, POLLOUT, until)) return false;
  }
  return true;
}

bool Talk::read_more(Clock::time_point until) {
  std::array<char, 64 << 10> piece;
  while (socket_ >= 0 && !ended_) {
    const long got =
        tls_ != nullptr ? SSL_read(tls_, piece.data(), piece.size()) : ::recv(socket_, piece.data(), piece.size(), 0);
    if (got > 0) {
      unread_.append(piece.data(), static_cast<size_t>(got));
      return true;
    }
    const bool waits = tls_ != nullptr ? SSL_get_error(tls_, static_cast<int>(got)) == SSL_ERROR_WANT_READ
                                       : got < 0 && errno == EAGAIN;
    if (!waits) {
      ended_ = true;
    } else if (!wait_for(socket_, POLLIN, until)) {
      return false;
    }
  }
  return false;
}

std::optional<std::string> Talk::until(std::string_view mark, std::chrono::milliseconds most) {
  const auto until = Clock::now() + most;
  size_t at = unread_.find(mark);
  while (at == std::string::npos) {
    if (!read_more(until)) return std::nullopt;
    at = unread_.find(mark);
  }
  std::string text = unread_.substr(0, at + mark.size());
  unread_.erase(0, text.size());
  return text;
}

std::optional<Got> Talk::answer(bool to_head) {
  const auto head = until("\r\n\r\n");
  if (!head || !head->starts_with("HTTP/1.1 ")) return std::nullopt;
  Got got;
  got.status = std::stoi(head->substr(9, 3));
  for (size_t at = head->find("\r\n") + 2; at < head->size() - 2;) {
    const size_t end = head->find("\r\n", at);
    const size_t colon = head->find(": ", at);
    std::string name = head->substr(at, colon - at);
    std::ranges::transform(name, name.begin(), base::lower);
    got.fields[name] = head->substr(colon + 2, end - colon - 2);
    at = end + 2;
  }
  if (to_head || got.fields.count("content-length") == 0) return got;
  const size_t size = std::stoul(got.field("content-length"));
  const auto deadline = Clock::now() + kPatience;
  while (unread_.size() < size) {
    if (!read_more(deadline)) return std::nullopt;
  }
  got.body = unread_.substr(0, size);
  unread_.erase(0, size);
  return got;
}

bool Talk::closes(std::chrono::milliseconds within) {
  const auto until = Clock::now() + within;
  while (read_more(until)) unread_.clear();
  return ended_ || socket_ < 0;
}

}  // namespace girdle::api
