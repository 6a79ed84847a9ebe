// What is kept of an answer, and a token endpoint's answer: whatever a receiver says, only short
// lines of text come out, and never a secret.
#include <cstdint>
#include <cstdlib>
#include <string>

#include "base/text.h"
#include "delivery/answer_reading.h"
#include "delivery/token_answer.h"

namespace {

using namespace girdle;

constexpr std::string_view kSecret = "s3cret/+\"";
constexpr std::string_view kSent = "Bearer t0ken=";

void check(bool holds) {
  if (!holds) std::abort();
}

void check_line(std::string_view text, size_t limit) {
  check(text.size() <= limit && base::is_utf8(text));
  for (const char c : text) check(static_cast<unsigned char>(c) >= ' ' && c != '\x7f');
  check(text.find(kSecret) == std::string_view::npos);
  check(!text.starts_with(' ') && !text.ends_with(' '));
}

// The first line is the pointer.
void check_reading(std::string_view input) {
  const size_t line = std::min(input.find('\n'), input.size());
  delivery::Blanks blanks;
  blanks.add(kSecret);
  auto reader = delivery::AnswerReader::create(input.substr(0, line), std::move(blanks));
  if (!reader) return;
  delivery::Answer answer;
  answer.content_type = "application/problem+json";
  answer.body = input.substr(std::min(line + 1, input.size()));
  const delivery::ReadAnswer read = reader->read(answer, kSent);
  check_line(read.first_bytes, 256);
  check_line(read.reference, 200);
  check_line(read.problem, 400);
  for (const auto& text : {read.first_bytes, read.reference, read.problem}) {
    check(text.find("t0ken=") == std::string::npos);
    check(text.find("whsec_A") == std::string::npos);
  }
}

void check_token(std::string_view body, int status) {
  delivery::Blanks blanks;
  blanks.add(kSecret);
  delivery::Answer answer;
  answer.status = status;
  answer.body = body;
  const auto token = delivery::read_token(answer, blanks);
  if (!token) {
    check_line(token.error().text, 500);
    return;
  }
  check(status == 200 && !token->text.empty());
  for (const char c : token->text) check(c > ' ' && c < '\x7f');
  check(!token->lives || (token->lives->count() >= 0 && token->lives->count() <= 365 * 24 * 3600));
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  const std::string_view input(reinterpret_cast<const char*>(data), std::min<size_t>(size, 4096));
  check_reading(input);
  check_token(input, 200);
  check_token(input, 401);
  return 0;
}
