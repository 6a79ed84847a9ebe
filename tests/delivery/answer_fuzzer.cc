// An answer in one piece and the same bytes one by one must come to the same end.
#include <cstdint>
#include <cstdlib>
#include <string>

#include "delivery/answer_parser.h"

namespace {

struct End {
  bool has_answer = false, complete = false;
  int status = 0;
  std::string retry_after, content_type;
  std::string body;  // of a whole answer

  bool operator==(const End&) const = default;
};

End end_of(std::string_view bytes, size_t step) {
  girdle::delivery::AnswerParser parser;
  End end;
  // Not compared: bytes that can become no answer any more may be refused at once, or later.
  bool refused = false;
  std::string held;
  while (!bytes.empty() && !parser.complete() && !refused) {
    held += bytes.substr(0, step);
    bytes.remove_prefix(std::min(step, bytes.size()));
    const auto taken = parser.take(held);
    refused = !taken;
    if (taken && *taken > held.size()) std::abort();
    held.erase(0, taken.value_or(0));
  }
  end.has_answer = parser.has_answer();
  end.complete = parser.complete();
  if (end.complete) end.body = parser.answer().body;
  if (end.has_answer) {
    end.status = parser.answer().status;
    end.retry_after = parser.answer().retry_after;
    end.content_type = parser.answer().content_type;
    if (end.status < 200 || end.status > 599 || end.retry_after.size() > 64) std::abort();
    if (end.content_type.size() > 256) std::abort();
    if (parser.answer().body.size() > girdle::delivery::AnswerParser::kMostOfBody) std::abort();
  }
  if (!refused) parser.take_end();
  return end;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), std::min<size_t>(size, 4096));
  if (end_of(bytes, bytes.size()) != end_of(bytes, 1)) std::abort();
  return 0;
}
