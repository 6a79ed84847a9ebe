// Any bytes as the text of a house's rules: refused with a reason, or read, and then written and read again to the same
// bytes; and compiled, or refused with reasons.
#include <cstdlib>

#include "casework/house_spec.h"

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  using namespace girdle::casework;
  const auto spec = read_rules({reinterpret_cast<const char*>(data), size});
  if (!spec) {
    if (spec.error().text.empty()) std::abort();
    return 0;
  }
  const std::string text = rules_text(*spec);
  const auto again = read_rules(text);
  if (!again || rules_text(*again) != text) std::abort();
  const auto built = build(*spec);
  const auto* problems = std::get_if<std::vector<HouseProblem>>(&built);
  if (problems && problems->empty()) std::abort();
  return 0;
}
