// Any bytes as the text of an expression: read or refused with a reason, and then calculated with
// facts of every kind, to a value that its own text gives again, or to a reason.
#include <cstdlib>

#include "policy/expression.h"
#include "policy/values.h"

namespace {

using girdle::policy::Value;

void check(const Value& value) {
  const auto type = girdle::policy::type_of(value);
  if (!type) return;
  const auto again = girdle::policy::value_of_text(girdle::policy::plain_text(value), *type);
  if (!again || !(*again == value)) std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  const auto expression =
      girdle::policy::Expression::parse({reinterpret_cast<const char*>(data), size});
  if (!expression) {
    if (expression.error().text.empty()) std::abort();
    return 0;
  }
  const std::vector<Value> values = girdle::policy::values_of_every_kind();
  for (const Value& fact : values) {
    for (const Value& other : values) {
      std::vector<Value> facts(expression->names().size(), fact);
      if (!facts.empty()) facts.back() = other;
      const auto value = expression->evaluate(facts);
      if (value) check(*value);
      if (!value && value.error().text.empty()) std::abort();
      if (facts.size() < 2) break;
    }
  }
  return 0;
}
