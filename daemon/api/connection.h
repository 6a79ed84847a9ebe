// One connection: requests one after another, each within its time. On the server's thread.
#pragma once

#include <array>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/steady_timer.hpp>
#include <chrono>
#include <cstdint>
#include <memory>

#include "api/answer_head.h"
#include "api/answering.h"
#include "api/limits.h"
#include "api/request_parser.h"
#include "api/roll.h"
#include "api/stream.h"

namespace girdle::api {

class Connection : public std::enable_shared_from_this<Connection> {
 public:
  // `answering` and `limits` outlive it.
  Connection(Stream stream, Peer peer, Roll::Seat seat, Answering& answering, const Limits& limits);

  // Until it ends. Once.
  boost::asio::awaitable<void> run();
  // Ends it at once, and gives its place to another.
  void close();
  // How long it has been waiting for its next request; nothing while it does anything.
  std::optional<base::Millis> idle_for() const;

 private:
  using Steady = std::chrono::steady_clock;
  using Error = Stream::Error;
  // What becomes of the connection after an answer.
  enum class After : uint8_t { kNext, kEnd };

  boost::asio::awaitable<void> tell_full();
  boost::asio::awaitable<After> serve_one();
  boost::asio::awaitable<After> answer_one(std::shared_ptr<Admitted> admitted, bool keep);
  boost::asio::awaitable<bool> read_head();
  boost::asio::awaitable<bool> read_body(std::shared_ptr<Admitted> admitted);
  boost::asio::awaitable<bool> read_more();
  bool take();
  boost::asio::awaitable<bool> write(Response response, bool is_head, AnswerFraming framing);
  boost::asio::awaitable<After> turn_away(Response response, bool is_head);
  boost::asio::awaitable<After> turn_away(Refusal refusal);
  boost::asio::awaitable<void> part();

  boost::asio::awaitable<void> listen(std::shared_ptr<Admitted> admitted);
  boost::asio::awaitable<bool> begin_events(std::shared_ptr<Admitted> admitted);
  boost::asio::awaitable<void> send_events(std::shared_ptr<Admitted> admitted,
                                           std::shared_ptr<Feed::Listener> listener);
  boost::asio::awaitable<bool> send(std::string_view bytes);

  void watch(base::Millis most);
  void rest();

  Stream stream_;
  Peer peer_;
  Roll::Seat seat_;
  Answering& answering_;
  const Limits& limits_;

  // One timer guards whatever is under way. A ring that was on its way when the watch was set anew counts no more.
  boost::asio::steady_timer timer_;
  uint64_t watch_ = 0;
  bool timed_out_ = false;
  bool closed_ = false;
  std::optional<Steady::time_point> idle_since_;

  RequestParser parser_;
  std::optional<Refusal> refusal_;  // why what is being read is refused
  uint64_t served_ = 0;
  bool must_part_ = false;  // an answer was written that the client may not have read yet
  size_t held_ = 0;
  std::array<char, RequestParser::kMostHeader> buffer_;
};

}  // namespace girdle::api
