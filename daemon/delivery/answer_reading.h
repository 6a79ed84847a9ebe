// What is kept of a receiver's answer: its first bytes, the receiver's own name for what it took,
// and why it refuses. All of it is text for a person: one line, without control characters, and
// without any secret of ours.
#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "delivery/answer_parser.h"
#include "delivery/blanks.h"

namespace girdle::delivery {

// On one line: control characters, line ends and spaces in a row become one space, and so do the
// marks that turn the direction of writing; what is no UTF-8 becomes U+FFFD. At most `limit` bytes,
// cut between characters.
std::string printable(std::string_view text, size_t limit);

struct ReadAnswer {
  std::string first_bytes;  // of the body, at most 256
  std::string reference;    // at most 200 bytes; empty = none was there
  std::string problem;  // of problem details (RFC 9457), at most 400 bytes; empty = none were there
};

// Reads one answer after another. Not thread-safe.
class AnswerReader {
 public:
  // `reference`: a JSON Pointer (RFC 6901) to a text or a number; "-" = none. The error says what
  // is wrong with it.
  static base::Result<AnswerReader> create(std::string_view reference, Blanks blanks = {});
  AnswerReader(AnswerReader&&) noexcept;
  ~AnswerReader();

  // `credentials`: the value of Authorization that was sent with the request.
  ReadAnswer read(const Answer& answer, std::string_view credentials = {});

 private:
  struct Parser;
  AnswerReader();
  bool is_secret(const std::string& text, std::string_view sent) const;

  bool wants_reference_ = false;
  std::vector<std::string> path_;  // the pointer's tokens
  Blanks blanks_;
  std::unique_ptr<Parser> parser_;
};

}  // namespace girdle::delivery
