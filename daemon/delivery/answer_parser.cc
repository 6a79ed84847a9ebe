#include "delivery/answer_parser.h"

#include <algorithm>
#include <boost/asio/buffer.hpp>
#include <exception>

namespace girdle::delivery {

namespace http = boost::beast::http;

void AnswerParser::Message::on_field_impl(http::field name, Text, Text value, Error&) {
  static constexpr size_t kLongestTime = 64;  // no Retry-After that means anything is longer
  static constexpr size_t kLongestType = 256;
  if (!in_header_) return;
  if (name == http::field::retry_after && value.size() <= kLongestTime) {
    answer_.retry_after.assign(value.data(), value.size());
  } else if (name == http::field::content_type && value.size() <= kLongestType) {
    answer_.content_type.assign(value.data(), value.size());
  } else if (name == http::field::transfer_encoding) {
    ++codings_;
  } else if (name == http::field::content_length) {
    has_length_ = true;
  }
}

size_t AnswerParser::Message::keep(Text body) {
  answer_.body.append(body.data(), std::min(body.size(), kMostOfBody - answer_.body.size()));
  return body.size();
}

void AnswerParser::reset(To to) {
  to_ = to;
  answer_ = Answer();
  message_.reset();
  has_answer_ = false;
  interim_ = 0;
  failure_.clear();
}

void AnswerParser::begin_message() {
  answer_ = Answer();
  message_.emplace(answer_);
  message_->eager(true);
  message_->skip(to_ == To::kConnect);
  message_->body_limit(boost::none);  // whoever reads counts the bytes
}

// False when the header says that this is no answer to use.
bool AnswerParser::end_header() {
  if (answer_.status >= 200 && answer_.status <= 599) {
    has_answer_ = true;
    return true;
  }
  if (answer_.status < 100 || answer_.status > 599) {
    failure_ = "the answer's status is no HTTP status";
  } else if (answer_.status == 101) {
    failure_ = "the receiver wants to change the protocol";
  } else if (++interim_ > kMostInterim) {
    failure_ = "the receiver sends interim answers without end";
  } else {
    message_.reset();
    return true;
  }
  return false;
}

std::optional<size_t> AnswerParser::take(std::string_view bytes) {
  size_t taken = 0;
  try {
    while (taken < bytes.size() && !complete()) {
      if (!message_) begin_message();
      boost::system::error_code error;
      const std::string_view rest = bytes.substr(taken);
      // Beast 1.81 asserts that a last chunk that it looks at a second time has all of its five
      // bytes ("0", two line ends), which a peer that sends slowly breaks. That many must follow
      // anywhere in a chunked body.
      if (message_->is_header_done() && message_->chunked() && rest.size() < 5) break;
      const size_t used = message_->put(boost::asio::const_buffer(rest.data(), rest.size()), error);
      taken += used;
      if (!has_answer_ && message_->is_header_done() && !end_header()) return std::nullopt;
      const bool short_of_bytes = error == http::error::need_more;
      if (error && !short_of_bytes) {
        failure_ = "the answer is no HTTP: " + error.message();
        return std::nullopt;
      }
      if (short_of_bytes || used == 0) break;
    }
  } catch (const std::exception& e) {
    failure_ = std::string("the answer cannot be read: ") + e.what();
    return std::nullopt;
  }
  return taken;
}

bool AnswerParser::take_end() {
  if (!has_answer_) return false;
  if (complete()) return true;
  boost::system::error_code error;
  message_->put_eof(error);
  return !error;
}

}  // namespace girdle::delivery
