// Any bytes as the text of a cell: read or refused with a reason, and then evaluated on facts of
// every kind.
#include <cstdlib>

#include "policy/unary_test.h"
#include "policy/values.h"

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  using girdle::policy::UnaryTest;
  using girdle::policy::Value;
  const auto test = UnaryTest::parse({reinterpret_cast<const char*>(data), size});
  if (!test) {
    if (test.error().text.empty()) std::abort();
    return 0;
  }
  const std::vector<Value> values = girdle::policy::values_of_every_kind();
  for (const Value& fact : values) {
    const std::vector<Value> facts(test->names().size(), fact);
    for (const Value& input : values) (void)test->evaluate(input, facts);
  }
  return 0;
}
