// A client that measures the API, with plain sockets: it must cost less than what it measures.
//
//   girdle_api_drive get PORT PER_SECOND SECONDS TARGETS FIRST   the lines of TARGETS are requests' targets, taken in turn
//   girdle_api_drive listen PORT LISTENERS                       until it is terminated
//
// `get` prints a line for each answer, "STATUS BYTES MICROSECONDS", and a last one, "late MICROSECONDS".
//
// Requests leave by the clock and not when the answer before them has come; a time counts from when its request should
// have left, so that a service that stands still for a second is not asked less in that second.
#include <arpa/inet.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cerrno>
#include <charconv>
#include <chrono>
#include <csignal>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <fstream>
#include <string>
#include <string_view>
#include <thread>
#include <vector>

namespace {

using Steady = std::chrono::steady_clock;

[[noreturn]] void fail(const char* what) {
  std::perror(what);
  std::exit(1);
}

int connect_to(uint16_t port) {
  const int socket = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_port = htons(port);
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  if (socket < 0 || ::connect(socket, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0) fail("connect");
  const int yes = 1;
  ::setsockopt(socket, IPPROTO_TCP, TCP_NODELAY, &yes, sizeof yes);
  return socket;
}

std::string request(std::string_view target, uint16_t port, std::string_view accept) {
  return "GET " + std::string(target) + " HTTP/1.1\r\nHost: 127.0.0.1:" + std::to_string(port) + "\r\nAccept: " +
         std::string(accept) + "\r\n\r\n";
}

void send_all(int socket, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t sent = ::send(socket, bytes.data(), bytes.size(), MSG_NOSIGNAL);
    if (sent <= 0) fail("send");
    bytes.remove_prefix(static_cast<size_t>(sent));
  }
}

// One answer with a Content-Length; its status, and the body's length in `size`.
int read_answer(int socket, std::string& buffer, size_t& size) {
  buffer.clear();
  size_t head = std::string::npos, length = 0;
  for (;;) {
    char part[65536];
    const ssize_t got = ::recv(socket, part, sizeof part, 0);
    if (got <= 0) fail("recv");
    buffer.append(part, static_cast<size_t>(got));
    if (head == std::string::npos) {
      head = buffer.find("\r\n\r\n");
      if (head == std::string::npos) continue;
      const size_t at = buffer.find("Content-Length: ");
      if (at == std::string::npos || at > head) {
        std::fprintf(stderr, "an answer without Content-Length:\n%s\n", buffer.substr(0, head).c_str());
        std::exit(1);
      }
      std::from_chars(buffer.data() + at + 16, buffer.data() + head, length);
    }
    if (buffer.size() >= head + 4 + length) break;
  }
  size = length;
  int status = 0;
  std::from_chars(buffer.data() + 9, buffer.data() + 12, status);
  return status;
}

// Wakes every two milliseconds.
class Sleeper {
 public:
  ~Sleeper() { end(); }
  // How late it was in 99 of 100 cases, in microseconds.
  double end() {
    if (thread_.joinable()) {
      ending_ = true;
      thread_.join();
      std::sort(late_.begin(), late_.end());
    }
    return late_.empty() ? 0 : late_[late_.size() * 99 / 100];
  }

 private:
  void run() {
    while (!ending_) {
      const auto due = Steady::now() + std::chrono::milliseconds(2);
      std::this_thread::sleep_until(due);
      late_.push_back(std::chrono::duration<double, std::micro>(Steady::now() - due).count());
    }
  }
  std::atomic<bool> ending_{false};
  std::vector<double> late_;
  std::thread thread_{[this] { run(); }};
};

struct Answer {
  int status = 0;
  size_t bytes = 0;
  double us = 0;
};

std::vector<std::string> requests_in(const char* file, uint16_t port) {
  std::vector<std::string> requests;
  std::ifstream in(file);
  for (std::string line; std::getline(in, line);) requests.push_back(request(line, port, "application/json"));
  if (requests.empty()) fail("no targets");
  return requests;
}

// `first`: the target to begin with.
int get(uint16_t port, double per_second, double seconds, const char* file, size_t first) {
  const std::vector<std::string> requests = requests_in(file, port);
  const auto pause = std::chrono::duration_cast<Steady::duration>(std::chrono::duration<double>(1 / per_second));
  const int socket = connect_to(port);
  std::vector<Answer> answers(static_cast<size_t>(per_second * seconds));
  std::string buffer;
  Sleeper sleeper;
  Steady::time_point due = Steady::now();
  for (size_t i = 0; i < answers.size(); ++i, due += pause) {
    std::this_thread::sleep_until(due);
    send_all(socket, requests[(first + i) % requests.size()]);
    answers[i].status = read_answer(socket, buffer, answers[i].bytes);
    answers[i].us = std::chrono::duration<double, std::micro>(Steady::now() - due).count();
  }
  ::close(socket);
  const double late = sleeper.end();
  for (const Answer& answer : answers) std::printf("%d %zu %.0f\n", answer.status, answer.bytes, answer.us);
  std::printf("late %.0f\n", late);
  return 0;
}

volatile std::sig_atomic_t ended = 0;

size_t occurrences(std::string_view text, std::string_view what) {
  size_t count = 0;
  for (size_t at = text.find(what); at != std::string_view::npos; at = text.find(what, at + what.size())) ++count;
  return count;
}

// The frames of a cut event are not counted twice: what follows the last line feed waits for its rest.
int listen(uint16_t port, size_t listeners) {
  std::signal(SIGTERM, [](int) { ended = 1; });
  std::vector<pollfd> sockets;
  std::vector<std::string> rests(listeners);
  for (size_t i = 0; i < listeners; ++i) {
    sockets.push_back({connect_to(port), POLLIN, 0});
    send_all(sockets.back().fd, request("/api/v1/events", port, "text/event-stream"));
  }
  size_t bytes = 0, hellos = 0, changes = 0, lost = 0;
  while (ended == 0) {
    if (::poll(sockets.data(), sockets.size(), 200) <= 0) continue;
    for (size_t i = 0; i < sockets.size(); ++i) {
      if (sockets[i].revents == 0) continue;
      char part[65536];
      const ssize_t got = ::recv(sockets[i].fd, part, sizeof part, MSG_DONTWAIT);
      if (got < 0 && (errno == EAGAIN || errno == EINTR)) continue;
      if (got <= 0) {
        ++lost;
        ::close(sockets[i].fd);
        sockets[i].fd = -1;
        continue;
      }
      bytes += static_cast<size_t>(got);
      std::string& text = rests[i].append(part, static_cast<size_t>(got));
      const size_t line = text.rfind('\n');
      if (line == std::string::npos) continue;
      hellos += occurrences(std::string_view(text).substr(0, line), "event: hello");
      changes += occurrences(std::string_view(text).substr(0, line), "event: changes");
      text.erase(0, line);
    }
  }
  std::printf("%zu listeners, %zu hellos, %zu frames of changes, %zu bytes, %zu lost\n", listeners, hellos, changes, bytes, lost);
  return lost == 0 ? 0 : 1;
}

}  // namespace

int main(int argc, char** argv) {
  const std::string_view verb = argc > 2 ? argv[1] : "";
  const auto port = static_cast<uint16_t>(argc > 2 ? std::atoi(argv[2]) : 0);
  if (verb == "get" && argc == 7) {
    return get(port, std::atof(argv[3]), std::atof(argv[4]), argv[5], static_cast<size_t>(std::atoll(argv[6])));
  }
  if (verb == "listen" && argc == 4) return listen(port, static_cast<size_t>(std::atoi(argv[3])));
  std::fprintf(stderr, "usage: girdle_api_drive get PORT PER_SECOND SECONDS TARGETS FIRST | listen PORT LISTENERS\n");
  return 2;
}
