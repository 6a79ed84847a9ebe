// Lines of the control socket, from either end. What is taken comes out of its own line as it went in.
#include <cstdint>
#include <cstdlib>
#include <string>

#include "service/control_request.h"

namespace {

using namespace girdle;

void check(bool holds) {
  if (!holds) std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  const std::string_view line(reinterpret_cast<const char*>(data), size);
  const auto request = service::parse_request(line);
  if (request) {
    const std::string text = service::to_line(*request);
    check(text.find('\n') == std::string::npos);
    const auto again = service::parse_request(text);
    check(again.ok() && service::to_line(*again) == text);
  } else {
    check(!request.error().text.empty());
  }
  const auto answer = service::parse_answer(line);
  if (answer) {
    const std::string text = service::to_line(*answer);
    const auto again = service::parse_answer(text);
    check(again.ok() && service::to_line(*again) == text);
  }
  return 0;
}
