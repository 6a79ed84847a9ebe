// One request of HTTP/1.1 (RFC 9112), cut out of what a client sends: sans I/O.
#pragma once

#include <boost/beast/http/basic_parser.hpp>
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::api {

// Why a request is answered before anybody looks at what it asks.
struct Refusal {
  int status = 400;
  std::string detail;
};

// A request's header as it was sent: any octets that RFC 9112 lets through, nothing judged yet (guard.h does).
struct RequestHead {
  struct Field {
    std::string name;   // in small letters
    std::string value;  // without white space around it
  };
  std::string method, target;
  int version = 0;  // 10 or 11
  std::vector<Field> fields;
  bool keep_alive = false;  // what it says of the connection
};

// Finds a header's end, octet by octet, and what may not stand in one: a control character but HTAB, a CR or LF alone,
// a line that goes on in the next (RFC 9112 2.2, 5.2). Beast lets some of it through, and joins such lines without
// telling.
class HeadScan {
 public:
  // How many octets were looked at: all of them, or up to the header's end, or up to the first that is wrong.
  size_t take(std::string_view bytes);
  bool ended() const { return state_ == State::kEnded; }
  bool wrong() const { return state_ == State::kWrong; }

 private:
  enum class State : uint8_t { kFirst, kText, kReturn, kLine, kLastReturn, kEnded, kWrong };
  static State next(State state, char octet);
  State state_ = State::kFirst;
};

// Takes one request: its header, then, once expect_body() has said how much of it is welcome, its body.
class RequestParser {
 public:
  static constexpr size_t kMostHeader = 16 << 10;  // bytes, with the request line
  static constexpr size_t kMostTarget = 4 << 10;
  static constexpr size_t kMostFields = 64;  // and as many trailers

  RequestParser();
  ~RequestParser();
  RequestParser(const RequestParser&) = delete;
  RequestParser& operator=(const RequestParser&) = delete;

  // Forgets everything: what comes next is another request.
  void reset();

  // Takes bytes from the front of `bytes`, which begins with those that the last call left over. Returns how many were
  // taken; fewer than all of them means that more are needed, or that the header or the request has ended. Nothing when
  // they are refused: refusal() says why.
  std::optional<size_t> take(std::string_view bytes);

  bool has_head() const { return has_head_; }
  const RequestHead& head() const { return head_; }
  // At most so many bytes of a body, chunked or not. Once, after the head.
  void expect_body(size_t most);
  bool complete() const;
  std::string take_body() { return std::move(body_); }
  const Refusal& refusal() const { return refusal_; }

 private:
  class Message;
  std::optional<size_t> take_head(std::string_view bytes);
  std::optional<size_t> take_body_bytes(std::string_view bytes);
  std::optional<size_t> refuse(int status, std::string detail);

  std::unique_ptr<Message> message_;
  HeadScan scan_;
  size_t scanned_ = 0;  // of the bytes that were not taken yet
  size_t empty_lines_ = 0;
  RequestHead head_;
  std::string body_;
  size_t most_body_ = 0;
  size_t body_octets_ = 0;  // with the marks of chunks
  bool has_head_ = false;
  bool expects_body_ = false;
  Refusal refusal_;
};

}  // namespace girdle::api
