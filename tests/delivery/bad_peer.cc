#include "delivery/bad_peer.h"

#include <arpa/inet.h>
#include <openssl/ssl.h>
#include <poll.h>
#include <signal.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cstdlib>

#include "base/text.h"

namespace girdle::delivery {
namespace {

void must(bool done) {
  if (!done) std::abort();
}

std::string lower(std::string_view text) {
  std::string out(text);
  for (char& c : out) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
  return out;
}

// OpenSSL writes without MSG_NOSIGNAL: the signal goes to the thread that wrote.
void block_broken_pipes() {
  sigset_t signals;
  ::sigemptyset(&signals);
  ::sigaddset(&signals, SIGPIPE);
  ::pthread_sigmask(SIG_BLOCK, &signals, nullptr);
}

BadPeer::Request parse_head(std::string_view head) {
  BadPeer::Request request;
  size_t end = head.find("\r\n");
  request.line = head.substr(0, end);
  while (end + 2 < head.size()) {
    head.remove_prefix(end + 2);
    end = std::min(head.find("\r\n"), head.size());
    const std::string_view line = head.substr(0, end);
    const size_t colon = line.find(':');
    if (colon == std::string_view::npos) continue;
    request.headers[lower(line.substr(0, colon))] = base::trimmed(line.substr(colon + 1));
  }
  return request;
}

}  // namespace

BadPeer::BadPeer(Script script, SSL_CTX* tls) : script_(std::move(script)), tls_(tls) {
  listener_ = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  must(::bind(listener_, reinterpret_cast<sockaddr*>(&address), sizeof address) == 0);
  must(::listen(listener_, 64) == 0);
  socklen_t size = sizeof address;
  must(::getsockname(listener_, reinterpret_cast<sockaddr*>(&address), &size) == 0);
  port_ = ntohs(address.sin_port);
  acceptor_ = std::thread([this] { accept(); });
}

BadPeer::~BadPeer() {
  stopping_ = true;
  ::shutdown(listener_, SHUT_RDWR);
  acceptor_.join();
  ::close(listener_);
  {
    const std::lock_guard lock(mutex_);
    for (Line& line : lines_) ::shutdown(line.socket_, SHUT_RDWR);
  }
  for (Line& line : lines_) {
    line.thread_.join();
    ::close(line.socket_);
  }
}

void BadPeer::accept() {
  while (!stopping_) {
    const int socket = ::accept4(listener_, nullptr, nullptr, SOCK_CLOEXEC);
    if (socket < 0) continue;
    const std::lock_guard lock(mutex_);
    Line& line = lines_.emplace_back(Line(*this, socket, connections_++));
    line.thread_ = std::thread([this, &line] {
      block_broken_pipes();
      if (tls_ == nullptr || line.shake_hands()) script_(line);
      SSL_free(line.tls_);
      // The number stays taken until the end, so that nobody else's socket is shut down.
      ::shutdown(line.socket_, SHUT_RDWR);
    });
  }
}

BadPeer::Script BadPeer::answering(std::function<std::string(const Request&)> answer) {
  return [answer = std::move(answer)](Line& line) {
    while (const auto request = line.read_request()) {
      if (!line.write(answer(*request))) return;
    }
  };
}

BadPeer::Script BadPeer::answering(std::string answer) {
  return answering([answer = std::move(answer)](const Request&) { return answer; });
}

std::string BadPeer::url(std::string_view scheme, std::string_view host) const {
  return std::string(scheme) + "://" + std::string(host) + ":" + std::to_string(port_) + "/hook";
}

std::vector<BadPeer::Request> BadPeer::requests() const {
  const std::lock_guard lock(mutex_);
  return requests_;
}

std::string BadPeer::server_name() const {
  const std::lock_guard lock(mutex_);
  return server_name_;
}

bool BadPeer::Line::shake_hands() {
  tls_ = SSL_new(peer_.tls_);
  SSL_set_fd(tls_, socket_);
  if (SSL_accept(tls_) != 1) return false;
  if (SSL_session_reused(tls_) == 1) ++peer_.resumed_;
  const char* const name = SSL_get_servername(tls_, TLSEXT_NAMETYPE_host_name);
  const std::lock_guard lock(peer_.mutex_);
  peer_.server_name_ = name == nullptr ? "" : name;
  return true;
}

long BadPeer::Line::read_some(char* bytes, size_t size) {
  return tls_ != nullptr ? SSL_read(tls_, bytes, static_cast<int>(size))
                         : ::recv(socket_, bytes, size, 0);
}

bool BadPeer::Line::read_more() {
  char bytes[4096];
  const long got = read_some(bytes, sizeof bytes);
  if (got > 0) unread_.append(bytes, static_cast<size_t>(got));
  return got > 0;
}

std::optional<BadPeer::Request> BadPeer::Line::read_request() {
  size_t end;
  while ((end = unread_.find("\r\n\r\n")) == std::string::npos) {
    if (!read_more()) return std::nullopt;
  }
  Request request = parse_head(std::string_view(unread_).substr(0, end));
  unread_.erase(0, end + 4);
  const size_t length = std::strtoul(request.headers["content-length"].c_str(), nullptr, 10);
  while (unread_.size() < length) {
    if (!read_more()) return std::nullopt;
  }
  request.body = unread_.substr(0, length);
  unread_.erase(0, length);
  const std::lock_guard lock(peer_.mutex_);
  peer_.requests_.push_back(request);
  return request;
}

bool BadPeer::Line::write(std::string_view bytes) {
  while (!bytes.empty()) {
    const long sent = tls_ != nullptr
                          ? SSL_write(tls_, bytes.data(), static_cast<int>(bytes.size()))
                          : ::send(socket_, bytes.data(), bytes.size(), MSG_NOSIGNAL);
    if (sent <= 0) return false;
    peer_.written_ += static_cast<size_t>(sent);
    bytes.remove_prefix(static_cast<size_t>(sent));
  }
  return true;
}

void BadPeer::Line::wait(std::chrono::milliseconds time) {
  // Ends early when the other side closes or the peer is destroyed.
  pollfd watched{socket_, POLLRDHUP, 0};
  ::poll(&watched, 1, static_cast<int>(time.count()));
}

void BadPeer::Line::wait_for_close() {
  while (read_more()) unread_.clear();
}

// What has come on one socket goes out on the other; false when either side has closed.
bool BadPeer::Line::carry(int from, int to) {
  char bytes[4096];
  const ssize_t got = ::recv(from, bytes, sizeof bytes, 0);
  return got > 0 && ::send(to, bytes, static_cast<size_t>(got), MSG_NOSIGNAL) == got;
}

void BadPeer::Line::relay(uint16_t port) {
  const int there = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  address.sin_port = htons(port);
  bool open = ::connect(there, reinterpret_cast<sockaddr*>(&address), sizeof address) == 0;
  while (open && !peer_.stopping_) {
    pollfd watched[] = {{socket_, POLLIN, 0}, {there, POLLIN, 0}};
    if (::poll(watched, 2, 50) <= 0) continue;
    if (watched[0].revents != 0) open = carry(socket_, there);
    if (open && watched[1].revents != 0) open = carry(there, socket_);
  }
  ::close(there);
}

void BadPeer::Line::reset() {
  const linger now{1, 0};
  ::setsockopt(socket_, SOL_SOCKET, SO_LINGER, &now, sizeof now);
  // close() sends the RST; the number is taken again at once, as the peer expects it to stay.
  const int other = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  ::dup2(other, socket_);
  ::close(other);
}

}  // namespace girdle::delivery
