#include "api/connection.h"

#include <algorithm>
#include <cstring>
#include <utility>

#include "api/problem.h"

namespace girdle::api {

namespace asio = boost::asio;

namespace {

constexpr std::string_view kContinue = "HTTP/1.1 100 Continue\r\n\r\n";
constexpr std::string_view kComment = ":\n\n";
constexpr size_t kMostUnread = 1 << 20;    // bytes that are read on after a refusal, so that it arrives
constexpr int kListenerBuffer = 64 << 10;  // the kernel's, so that a listener that does not read is seen soon

}  // namespace

Connection::Connection(Stream stream, Peer peer, Roll::Seat seat, Answering& answering, const Limits& limits)
    : stream_(std::move(stream)),
      peer_(std::move(peer)),
      seat_(std::move(seat)),
      answering_(answering),
      limits_(limits),
      timer_(stream_.socket().get_executor()) {}

void Connection::watch(base::Millis most) {
  timed_out_ = false;
  timer_.expires_after(most);
  timer_.async_wait([weak = weak_from_this(), watch = ++watch_](Error cancelled) {
    const auto self = weak.lock();
    if (!self || cancelled || watch != self->watch_) return;
    self->timed_out_ = true;
    self->stream_.cancel();
  });
}

void Connection::rest() {
  ++watch_;
  timer_.cancel();
}

void Connection::close() {
  closed_ = true;
  seat_.leave();
  rest();
  stream_.close();
}

std::optional<base::Millis> Connection::idle_for() const {
  if (!idle_since_) return std::nullopt;
  return std::chrono::duration_cast<base::Millis>(Steady::now() - *idle_since_);
}

asio::awaitable<void> Connection::run() {
  if (seat_.is_refused()) {
    co_await tell_full();
  } else {
    watch(limits_.handshake);
    const Error error = co_await stream_.shake_hands();
    After after = error || timed_out_ ? After::kEnd : After::kNext;
    while (after == After::kNext && !closed_) {
      after = co_await serve_one();
      ++served_;
    }
  }
  if (!closed_ && must_part_) co_await part();
  close();
}

// There is no room: told where that is cheap. A TLS client is not worth a handshake now.
asio::awaitable<void> Connection::tell_full() {
  if (stream_.is_tls()) co_return;
  Response response = problem(503, "as many are connected as may be: try again");
  response.headers.emplace_back("Retry-After", "1");
  co_await turn_away(std::move(response), false);
}

// Gives what is held to the parser, and moves what it leaves to the front. False: it was refused.
bool Connection::take() {
  for (;;) {
    const auto taken = parser_.take({buffer_.data(), held_});
    if (!taken) {
      refusal_ = parser_.refusal();
      return false;
    }
    held_ -= *taken;
    if (held_ > 0 && *taken > 0) std::memmove(buffer_.data(), buffer_.data() + *taken, held_);
    if (*taken == 0 || held_ == 0 || parser_.has_head()) return true;
  }
}

asio::awaitable<bool> Connection::read_more() {
  Error error;
  const auto room = asio::buffer(buffer_.data() + held_, buffer_.size() - held_);
  const size_t got = co_await stream_.read(room, error);
  held_ += got;
  // A ring that came together with the last bytes counts: nothing guards the next read.
  co_return got > 0 && !closed_ && !timed_out_;
}

// False: there is no request, and refusal_ says whether to answer that.
asio::awaitable<bool> Connection::read_head() {
  parser_.reset();
  refusal_.reset();
  watch(served_ == 0 ? limits_.header : limits_.idle);
  idle_since_ = Steady::now();
  bool has_begun = false;
  for (;;) {
    if (held_ > 0 && !has_begun) {
      has_begun = true;
      idle_since_.reset();
      if (served_ > 0) watch(limits_.header);
    }
    if (held_ > 0 && !take()) co_return false;
    if (parser_.has_head()) co_return true;
    const bool more = co_await read_more();
    if (more) continue;
    idle_since_.reset();
    if (timed_out_ && has_begun) refusal_ = Refusal{408, "the header did not come in time"};
    co_return false;
  }
}

asio::awaitable<bool> Connection::read_body(std::shared_ptr<Admitted> admitted) {
  parser_.expect_body(admitted->most_body);
  if (parser_.complete()) co_return true;
  watch(limits_.body);
  if (admitted->asked.wants_continue && held_ == 0) {
    Error error;
    co_await stream_.write(kContinue, {}, error);
    if (error) co_return false;
  }
  while (!parser_.complete()) {
    const size_t before = held_;
    if (held_ > 0 && !take()) co_return false;
    if (parser_.complete()) break;
    if (held_ == buffer_.size() && held_ == before) {
      refusal_ = Refusal{431, "the body's trailer, or a chunk's extension, is longer than 16 KiB"};
      co_return false;
    }
    const bool more = co_await read_more();
    if (more) continue;
    if (timed_out_) refusal_ = Refusal{408, "the body did not come in time"};
    co_return false;
  }
  admitted->asked.request.body = parser_.take_body();
  co_return true;
}

asio::awaitable<bool> Connection::write(Response response, bool is_head, AnswerFraming framing) {
  framing.tls = peer_.tls;
  auto head = write_head(response, framing, answering_.clock().now());
  if (!head) {
    response = problem(500, "the answer cannot be written: a fault of the program");
    head = write_head(response, framing, answering_.clock().now());
  }
  if (!framing.keep_alive) must_part_ = true;
  watch(limits_.write);
  Error error;
  const std::string_view body =
      is_head || response.status == 204 || response.status == 304 ? std::string_view() : response.bytes();
  co_await stream_.write(*head, body, error);
  rest();
  if (error) must_part_ = false;
  co_return !error && !closed_;
}

// Where the rest of what was sent is not read: the connection ends.
asio::awaitable<Connection::After> Connection::turn_away(Response response, bool is_head) {
  AnswerFraming framing;
  framing.keep_alive = false;
  co_await write(std::move(response), is_head, framing);
  co_return After::kEnd;
}

asio::awaitable<Connection::After> Connection::turn_away(Refusal refusal) {
  Response response = problem(refusal.status, refusal.detail);
  const After after = co_await turn_away(std::move(response), false);
  co_return after;
}

asio::awaitable<Connection::After> Connection::serve_one() {
  const bool has_head = co_await read_head();
  rest();
  if (!has_head) {
    if (!refusal_ || closed_) co_return After::kEnd;
    const After after = co_await turn_away(std::move(*refusal_));
    co_return after;
  }
  auto checked = guard(parser_.head());
  if (auto* const wrong = std::get_if<Refusal>(&checked)) {
    const After after = co_await turn_away(std::move(*wrong));
    co_return after;
  }
  Guarded asked = std::get<Guarded>(std::move(checked));
  const bool is_head = asked.is_head;
  const bool has_body = asked.has_body();
  const bool keep = asked.keep_alive && served_ + 1 < limits_.requests;
  Peer peer = peer_;
  auto verdict = co_await answering_.admit(std::move(asked), std::move(peer));
  After after = After::kEnd;
  if (auto* const wrong = std::get_if<Response>(&verdict)) {
    if (has_body || !keep) {
      after = co_await turn_away(std::move(*wrong), is_head);
    } else {
      const AnswerFraming framing;
      const bool written = co_await write(std::move(*wrong), is_head, framing);
      after = written ? After::kNext : After::kEnd;
    }
  } else {
    auto admitted = std::get<std::shared_ptr<Admitted>>(std::move(verdict));
    after = co_await answer_one(std::move(admitted), keep);
  }
  co_return after;
}

asio::awaitable<Connection::After> Connection::answer_one(std::shared_ptr<Admitted> admitted, bool keep) {
  const bool has_body = co_await read_body(admitted);
  rest();
  if (!has_body) {
    if (!refusal_ || closed_) co_return After::kEnd;
    const After after = co_await turn_away(std::move(*refusal_));
    co_return after;
  }
  if (admitted->is_events()) {
    co_await listen(admitted);
    co_return After::kEnd;
  }
  Response response = co_await answering_.answer(admitted);
  AnswerFraming framing;
  framing.keep_alive = keep;
  framing.may_be_kept = admitted->file != nullptr;
  const bool written = co_await write(std::move(response), admitted->asked.is_head, framing);
  co_return written&& keep ? After::kNext : After::kEnd;
}

// Closing with something unread makes the kernel reset the connection, and the client may lose the answer: RFC
// 9112 9.6.
asio::awaitable<void> Connection::part() {
  watch(limits_.farewell);
  co_await stream_.take_leave();
  Error error;
  stream_.socket().shutdown(Stream::Socket::shutdown_send, error);
  for (size_t read = 0; !error && !timed_out_ && !closed_ && read < kMostUnread;) {
    const auto room = asio::buffer(buffer_);
    read += co_await stream_.socket().async_read_some(room, asio::redirect_error(asio::use_awaitable, error));
  }
}

asio::awaitable<bool> Connection::send(std::string_view bytes) {
  watch(limits_.write);
  Error error;
  co_await stream_.write(bytes, {}, error);
  rest();
  co_return !error && !closed_;
}

asio::awaitable<void> Connection::listen(std::shared_ptr<Admitted> admitted) {
  struct Place {
    Feed& feed;
    std::shared_ptr<Feed::Listener> listener;
    ~Place() {
      if (listener) feed.leave(listener);
    }
  };
  Feed& feed = answering_.feed();
  const bool is_head = admitted->asked.is_head;
  const Place place{feed, is_head ? nullptr : feed.join()};
  if (!is_head && !place.listener) {
    Response response = problem(503, "as many listen to events as may");
    response.headers.emplace_back("Retry-After", "10");
    co_await turn_away(std::move(response), false);
    co_return;
  }
  const bool begun = co_await begin_events(admitted);
  if (begun && place.listener) co_await send_events(admitted, place.listener);
}

asio::awaitable<bool> Connection::begin_events(std::shared_ptr<Admitted> admitted) {
  Response response;
  response.content_type = "text/event-stream";
  if (!admitted->asked.is_head) {
    seat_.listen();
    Error ignored;
    stream_.socket().set_option(asio::socket_base::send_buffer_size(kListenerBuffer), ignored);
    response.body = answering_.hello(*admitted);
  }
  AnswerFraming framing;
  framing.endless = true;
  const bool written = co_await write(std::move(response), admitted->asked.is_head, framing);
  co_return written;
}

asio::awaitable<void> Connection::send_events(std::shared_ptr<Admitted> admitted,
                                              std::shared_ptr<Feed::Listener> listener) {
  listener->on_end([self = this] { self->close(); });
  stream_.watch([self = shared_from_this(), listener] { listener->end(); });
  const auto step = std::min(limits_.recheck, limits_.heartbeat);
  auto checked = Steady::now();
  auto sent = checked;
  while (!listener->has_ended() && !closed_) {
    const Feed::Frame frame = co_await listener->next(step);
    bool alive = !listener->has_ended();
    if (alive && frame) {
      alive = co_await send(*frame);
      listener->has_taken();
      sent = Steady::now();
    } else if (alive && Steady::now() - sent >= limits_.heartbeat) {
      alive = co_await send(kComment);
      sent = Steady::now();
    }
    if (alive && Steady::now() - checked >= limits_.recheck) {
      alive = co_await answering_.may_still(admitted->asker);
      checked = Steady::now();
    }
    if (!alive) break;
  }
}

}  // namespace girdle::api
