// One answer of HTTP/1.1 (RFC 9112), cut out of what a peer sends: sans I/O.
#pragma once

#include <boost/beast/http/basic_parser.hpp>
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <utility>

namespace girdle::delivery {

// What of an answer matters here.
struct Answer {
  int status = 0;
  std::string retry_after;   // the header's value, at most 64 bytes; empty = none
  std::string content_type;  // likewise, at most 256 bytes
  std::string body;          // its first 64 KiB, as much as has come
};

// Keeps a bounded part of a body and no header but those that count, so that the peer does not
// decide on its memory. Interim answers (1xx) before it are read and dropped.
class AnswerParser {
 public:
  // A peer that sends more interim answers than this has no answer to give.
  static constexpr int kMostInterim = 8;
  // Bytes of a body that are kept; those after them are read, and dropped.
  static constexpr size_t kMostOfBody = 64 << 10;

  AnswerParser() = default;
  AnswerParser(const AnswerParser&) = delete;
  AnswerParser& operator=(const AnswerParser&) = delete;

  // What an answer answers: after a CONNECT that succeeds no body follows, whatever its header says
  // (RFC 9110 9.3.6).
  enum class To { kPost, kConnect };

  // Forgets everything: what comes next is another answer.
  void reset(To to = To::kPost);

  // Takes bytes from the front of `bytes`, which begins with those that the last call left over.
  // Returns how many were taken; fewer than all of them means that a header needs more bytes, or
  // that the answer has ended. Nothing when this is no HTTP: failure() says why.
  std::optional<size_t> take(std::string_view bytes);

  // The peer has closed. False when the answer was cut short.
  bool take_end();

  // The header has come: the status is decided, whatever becomes of the body.
  bool has_answer() const { return has_answer_; }
  const Answer& answer() const { return answer_; }
  Answer take_answer() { return std::move(answer_); }
  // The whole answer has come.
  bool complete() const { return has_answer_ && message_->is_done(); }
  // The connection may be used for another request. Only when complete().
  bool keep_alive() const { return message_->keep_alive() && !message_->framed_doubtfully(); }
  const std::string& failure() const { return failure_; }

 private:
  class Message final : public boost::beast::http::basic_parser<false> {
   public:
    explicit Message(Answer& answer) : answer_(answer) {}

    // Peers and what stands between us and them may take the end of such an answer for different
    // places (RFC 9112 6.1, 6.3); Beast 1.81 does not mind.
    bool framed_doubtfully() const {
      return codings_ > 0 && (codings_ > 1 || !chunked() || has_length_ || version_ < 11);
    }

   private:
    using Error = boost::system::error_code;
    using Text = boost::beast::string_view;
    void on_request_impl(boost::beast::http::verb, Text, Text, int, Error&) override {}
    void on_response_impl(int status, Text, int version, Error&) override {
      answer_.status = status;
      version_ = version;
    }
    void on_field_impl(boost::beast::http::field name, Text, Text value, Error&) override;
    void on_header_impl(Error&) override { in_header_ = false; }
    void on_body_init_impl(boost::optional<uint64_t> const&, Error&) override {}
    size_t on_body_impl(Text body, Error&) override { return keep(body); }
    void on_chunk_header_impl(uint64_t, Text, Error&) override {}
    size_t on_chunk_body_impl(uint64_t, Text body, Error&) override { return keep(body); }
    void on_finish_impl(Error&) override {}
    size_t keep(Text body);

    Answer& answer_;
    int version_ = 0;
    int codings_ = 0;  // header fields Transfer-Encoding
    bool has_length_ = false;
    bool in_header_ = true;  // trailers come through on_field_impl too, and mean nothing here
  };

  void begin_message();
  bool end_header();

  Answer answer_;
  std::optional<Message> message_;
  To to_ = To::kPost;
  bool has_answer_ = false;
  int interim_ = 0;
  std::string failure_;
};

}  // namespace girdle::delivery
