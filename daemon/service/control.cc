#include "service/control.h"

#include <sys/socket.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <boost/asio/buffer.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/read_until.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/asio/write.hpp>
#include <cerrno>

#include "base/text.h"
#include "base/time.h"

namespace girdle::service {

namespace asio = boost::asio;
using base::Result;
using boost::system::error_code;

namespace {

// Ends what is under way on a socket when its time is over.
class Deadline {
 public:
  template <class Socket>
  Deadline(const std::shared_ptr<Socket>& socket, base::Millis after) : timer_(socket->get_executor(), after) {
    timer_.async_wait([socket](error_code cancelled) {
      error_code ignored;
      if (!cancelled) socket->cancel(ignored);
    });
  }

 private:
  asio::steady_timer timer_;
};

}  // namespace

Result<std::unique_ptr<Control>> Control::open(asio::any_io_executor executor, const std::filesystem::path& ledger,
                                               Act act, const base::Log& log) {
  return open(std::move(executor), ledger, std::move(act), log, Options());
}

Result<std::unique_ptr<Control>> Control::open(asio::any_io_executor executor, const std::filesystem::path& ledger,
                                               Act act, const base::Log& log, const Options& options) {
  auto place = ControlSocket::beside(ledger);
  if (!place) return place.error();
  auto listening = place->listen();
  if (!listening) return listening.error();
  std::unique_ptr<Control> control(
      new Control(std::move(executor), std::move(place).value(), std::move(act), log, options));
  error_code failed;
  control->acceptor_.assign(Protocol(), listening->get(), failed);
  if (failed) return base::environment_error("the control socket cannot be used: " + failed.message());
  listening->release();
  return control;
}

Control::Control(asio::any_io_executor executor, ControlSocket place, Act act, const base::Log& log,
                 const Options& options)
    : place_(std::move(place)),
      act_(std::move(act)),
      log_(log),
      options_(options),
      acceptor_(executor),
      free_(executor),
      tasks_(executor, [this](const std::exception_ptr&) { log_.error("a control connection ended by a fault"); }) {}

void Control::start() { tasks_.spawn(accept_all()); }

asio::awaitable<void> Control::stop() {
  place_.remove();
  co_await tasks_.stop();
  error_code ignored;
  acceptor_.close(ignored);
}

asio::awaitable<void> Control::accept_all() {
  for (;;) {
    error_code failed;
    while (connections_ >= options_.most) {
      free_.expires_at(asio::steady_timer::time_point::max());
      co_await free_.async_wait(asio::redirect_error(asio::use_awaitable, failed));
    }
    Protocol::socket connection = co_await acceptor_.async_accept(asio::redirect_error(asio::use_awaitable, failed));
    if (!failed) {
      ++connections_;
      tasks_.spawn(serve(std::move(connection)));
      continue;
    }
    // Too few descriptors, or the like; being stopped comes out of the wait.
    free_.expires_after(std::chrono::milliseconds(100));
    co_await free_.async_wait(asio::redirect_error(asio::use_awaitable, failed));
  }
}

// The socket's mode keeps others out; this does where a file system does not know modes.
bool Control::may_ask(Protocol::socket& connection) const {
  const auto peer = ControlSocket::peer_of(connection.native_handle());
  if (peer && (*peer == ::geteuid() || *peer == 0)) return true;
  log_.debug("another user was refused at the control socket", {{"socket", place_.path().string()}});
  return false;
}

asio::awaitable<void> Control::serve(Protocol::socket connection) {
  struct Counted {
    Control& control;
    ~Counted() {
      --control.connections_;
      control.free_.cancel();
    }
  };
  const Counted counted{*this};
  if (!may_ask(connection)) co_return;
  const auto peer = std::make_shared<Protocol::socket>(std::move(connection));
  std::string line;
  error_code failed;
  {
    const Deadline deadline(peer, options_.for_request);
    auto buffer = asio::dynamic_buffer(line, kMostRequestBytes);
    co_await asio::async_read_until(*peer, buffer, '\n', asio::redirect_error(asio::use_awaitable, failed));
  }
  ControlAnswer answer;
  if (failed == asio::error::not_found) {
    answer = refusal("the request is longer than " + std::to_string(kMostRequestBytes) + " bytes");
  } else if (failed) {
    co_return;  // silent, or gone
  } else {
    line.resize(line.find('\n'));
    answer = co_await answer_to(std::move(line));
  }
  const std::string out = to_line(answer) + '\n';
  const Deadline deadline(peer, options_.for_request);
  const auto bytes = asio::buffer(out);
  co_await asio::async_write(*peer, bytes, asio::redirect_error(asio::use_awaitable, failed));
}

asio::awaitable<ControlAnswer> Control::answer_to(std::string line) {
  auto request = parse_request(line);
  if (!request) co_return refusal("the service cannot use the request: " + request.error().text);
  ControlAnswer answer = co_await act_on(std::move(request).value());
  co_return answer;
}

// Shared with what posts the answer, which may come when nobody waits any more.
struct Control::Waiting {
  std::optional<Result<ControlAnswer>> answer;
  asio::steady_timer* timer = nullptr;  // in the frame of act_on()
};

asio::awaitable<ControlAnswer> Control::act_on(ControlRequest request) {
  const auto waiting = std::make_shared<Waiting>();
  asio::steady_timer timer(acceptor_.get_executor(), options_.for_commit);
  struct Forgotten {
    Waiting& waiting;
    ~Forgotten() { waiting.timer = nullptr; }
  };
  waiting->timer = &timer;
  const Forgotten forgotten{*waiting};
  act_(std::move(request), [executor = acceptor_.get_executor(), waiting](Result<ControlAnswer> answer) {
    asio::post(executor, [waiting, answer = std::move(answer)]() mutable {
      waiting->answer = std::move(answer);
      if (waiting->timer != nullptr) waiting->timer->cancel();
    });
  });
  error_code ended;
  co_await timer.async_wait(asio::redirect_error(asio::use_awaitable, ended));
  ControlAnswer answer;
  if (!waiting->answer) {
    answer.failed = "the ledger did not take it within " + base::format_duration(options_.for_commit) +
                    " (is the disk full?); it is done once it does";
  } else if (!*waiting->answer) {
    answer.failed = waiting->answer->error().text;
  } else {
    answer = **waiting->answer;
  }
  co_return answer;
}

namespace {

// Our own service, and not what another user put in its place.
bool is_trusted(int socket, const std::filesystem::path& ledger) {
  const auto peer = ControlSocket::peer_of(socket);
  if (!peer) return false;
  if (*peer == ::geteuid() || *peer == 0) return true;
  struct stat status {};
  return ::stat(ledger.c_str(), &status) == 0 && status.st_uid == *peer;
}

bool send_all(int socket, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t sent = ::send(socket, bytes.data(), bytes.size(), MSG_NOSIGNAL);
    if (sent < 0 && errno == EINTR) continue;
    if (sent <= 0) return false;
    bytes.remove_prefix(static_cast<size_t>(sent));
  }
  return true;
}

// Up to the end of a line; nothing when there is none.
std::optional<std::string> receive_line(int socket) {
  std::string line;
  std::array<char, 4096> piece;
  while (line.size() <= kMostRequestBytes) {
    const ssize_t got = ::recv(socket, piece.data(), piece.size(), 0);
    if (got < 0 && errno == EINTR) continue;
    if (got <= 0) return std::nullopt;
    line.append(piece.data(), static_cast<size_t>(got));
    if (const size_t end = line.find('\n'); end != std::string::npos) return line.substr(0, end);
  }
  return std::nullopt;
}

}  // namespace

Result<std::optional<ControlAnswer>> ask(const std::filesystem::path& ledger, const ControlRequest& request,
                                         int patience_s) {
  const std::string line = to_line(request) + '\n';
  if (line.size() > kMostRequestBytes) return base::call_error("what is asked for is too long");
  auto place = ControlSocket::beside(ledger);
  if (!place) return place.error();
  auto connected = place->connect(patience_s);
  if (!connected) return connected.error();
  if (!*connected) return std::optional<ControlAnswer>();
  const int socket = (*connected)->get();
  if (!is_trusted(socket, ledger)) {
    return base::environment_error("a program of another user listens at " + place->path().string() +
                                   "; nothing was asked of it");
  }
  const auto answer = send_all(socket, line) ? receive_line(socket) : std::nullopt;
  if (!answer) {
    return base::environment_error(
        "the service took the request and did not say that it is done; look with `girdled deliveries` or `girdled outlet "
        "list`, then call again");
  }
  auto parsed = parse_answer(*answer);
  if (!parsed) return base::environment_error("the service gave an answer that cannot be read: " + parsed.error().text);
  if (!parsed->failed.empty()) return base::environment_error(parsed->failed);
  return std::optional<ControlAnswer>(std::move(parsed).value());
}

}  // namespace girdle::service
