#include "api/request_parser.h"

#include <algorithm>
#include <boost/asio/buffer.hpp>
#include <exception>
#include <utility>

#include "base/text.h"

namespace girdle::api {

namespace http = boost::beast::http;

HeadScan::State HeadScan::next(State state, char octet) {
  if (base::is_control(octet) && octet != '\t' && octet != '\r' && octet != '\n') return State::kWrong;
  const bool is_return = octet == '\r';
  const bool is_feed = octet == '\n';
  switch (state) {
    case State::kFirst: return is_return || is_feed || octet == ' ' || octet == '\t' ? State::kWrong : State::kText;
    case State::kText: return is_feed ? State::kWrong : is_return ? State::kReturn : State::kText;
    case State::kReturn: return is_feed ? State::kLine : State::kWrong;
    case State::kLine:
      if (is_feed || octet == ' ' || octet == '\t') return State::kWrong;
      return is_return ? State::kLastReturn : State::kText;
    case State::kLastReturn: return is_feed ? State::kEnded : State::kWrong;
    case State::kEnded:
    case State::kWrong: break;
  }
  return state;
}

size_t HeadScan::take(std::string_view bytes) {
  size_t at = 0;
  while (at < bytes.size() && !ended() && !wrong()) state_ = next(state_, bytes[at++]);
  return at;
}

class RequestParser::Message final : public http::basic_parser<true> {
 public:
  explicit Message(RequestParser& owner) : owner_(owner) {}
  bool has_too_many_fields() const { return fields_ > kMostFields; }
  bool has_too_much_body() const { return too_much_; }

 private:
  using Error = boost::system::error_code;
  using Text = boost::beast::string_view;

  void on_request_impl(http::verb, Text method, Text target, int version, Error&) override {
    owner_.head_.method.assign(method.data(), method.size());
    owner_.head_.target.assign(target.data(), target.size());
    owner_.head_.version = version;
  }
  void on_response_impl(int, Text, int, Error&) override {}
  void on_field_impl(http::field, Text name, Text value, Error& error) override {
    if (++fields_ > kMostFields) {
      error = http::error::header_limit;
      return;
    }
    if (in_trailer_) return;  // RFC 9110 6.5.1: nothing that decides anything may stand there
    auto& field = owner_.head_.fields.emplace_back();
    field.name.assign(name.data(), name.size());
    std::ranges::transform(field.name, field.name.begin(), base::lower);
    field.value = base::trimmed({value.data(), value.size()});
  }
  void on_header_impl(Error&) override {
    in_trailer_ = true;
    fields_ = 0;
  }
  void on_body_init_impl(boost::optional<uint64_t> const&, Error&) override {}
  size_t on_body_impl(Text body, Error& error) override { return keep(body, error); }
  void on_chunk_header_impl(uint64_t, Text, Error&) override {}
  size_t on_chunk_body_impl(uint64_t, Text body, Error& error) override { return keep(body, error); }
  void on_finish_impl(Error&) override {}

  size_t keep(Text body, Error& error) {
    if (body.size() > owner_.most_body_ - owner_.body_.size()) {
      too_much_ = true;
      error = http::error::body_limit;
      return 0;
    }
    owner_.body_.append(body.data(), body.size());
    return body.size();
  }

  RequestParser& owner_;
  size_t fields_ = 0;
  bool in_trailer_ = false;
  bool too_much_ = false;
};

RequestParser::RequestParser() { reset(); }
RequestParser::~RequestParser() = default;

void RequestParser::reset() {
  message_ = std::make_unique<Message>(*this);
  message_->header_limit(kMostHeader);
  message_->body_limit(boost::none);  // expect_body() says
  scan_ = HeadScan();
  scanned_ = empty_lines_ = most_body_ = body_octets_ = 0;
  head_ = RequestHead();
  body_ = std::string();
  has_head_ = expects_body_ = false;
  refusal_ = Refusal();
}

std::optional<size_t> RequestParser::refuse(int status, std::string detail) {
  refusal_ = {status, std::move(detail)};
  return std::nullopt;
}

void RequestParser::expect_body(size_t most) {
  most_body_ = most;
  expects_body_ = true;
  message_->eager(true);
}

bool RequestParser::complete() const { return has_head_ && message_->is_done(); }

std::optional<size_t> RequestParser::take(std::string_view bytes) {
  // Beast throws where a limit of its own is passed in some places; nothing of it leaves this function.
  try {
    if (!has_head_) return take_head(bytes);
    if (!expects_body_ || complete()) return 0;
    return take_body_bytes(bytes);
  } catch (const std::exception&) {
    return refuse(400, "the request cannot be read");
  }
}

std::optional<size_t> RequestParser::take_head(std::string_view bytes) {
  // RFC 9112 2.2: one empty line before the request line is ignored.
  if (scanned_ == 0 && empty_lines_ == 0 && bytes.starts_with('\r')) {
    if (bytes == "\r") return 0;
    if (!bytes.starts_with("\r\n")) return refuse(400, "a carriage return stands alone before the request line");
    ++empty_lines_;
    return 2;
  }
  scanned_ += scan_.take(bytes.substr(scanned_));
  if (scan_.wrong()) {
    return refuse(
        400, "the header holds a control character, a line end that is not CR LF, or a line that goes on in the next");
  }
  if (scanned_ > kMostHeader || (!scan_.ended() && scanned_ == kMostHeader)) {
    if (bytes.substr(0, kMostHeader).find('\n') == std::string_view::npos) {
      return refuse(414, "the request line is longer than 4 KiB");
    }
    return refuse(431, "the header is longer than 16 KiB");
  }
  if (!scan_.ended()) return 0;
  boost::system::error_code error;
  const size_t used = message_->put(boost::asio::const_buffer(bytes.data(), scanned_), error);
  if (error == http::error::bad_version) return refuse(505, "this server speaks HTTP/1.1");
  if (message_->has_too_many_fields()) return refuse(431, "the header has more than 64 fields");
  if (error || used != scanned_ || !message_->is_header_done()) {
    return refuse(400, "the request line or a header field is not as HTTP/1.1 writes it");
  }
  if (head_.target.size() > kMostTarget) return refuse(414, "the request's target is longer than 4 KiB");
  head_.keep_alive = message_->keep_alive();
  has_head_ = true;
  scanned_ = 0;
  return used;
}

std::optional<size_t> RequestParser::take_body_bytes(std::string_view bytes) {
  size_t taken = 0;
  while (taken < bytes.size() && !complete()) {
    const std::string_view rest = bytes.substr(taken);
    // Beast 1.81 asserts that a last chunk that it looks at a second time has all of its five bytes ("0", two line
    // ends), which a client that sends slowly breaks. That many must follow anywhere in a chunked body.
    if (message_->chunked() && rest.size() < 5) break;
    boost::system::error_code error;
    const size_t used = message_->put(boost::asio::const_buffer(rest.data(), rest.size()), error);
    taken += used;
    body_octets_ += used;
    if (message_->has_too_much_body()) return refuse(413, "the body is longer than this route takes");
    if (message_->has_too_many_fields()) return refuse(431, "the body's trailer has more than 64 fields");
    const bool short_of_bytes = error == http::error::need_more;
    if (error && !short_of_bytes) return refuse(400, "the body's chunks are not as HTTP/1.1 writes them");
    // Chunks of one byte, each with a long extension, are no way to send a body.
    if (body_octets_ > 8 * most_body_ + kMostHeader) return refuse(413, "the body has far more marks than content");
    if (short_of_bytes || used == 0) break;
  }
  return taken;
}

}  // namespace girdle::api
