// Decimals: what is read is written and read again as the same number; exact arithmetic undoes
// itself.
#include <cstdlib>

#include "base/decimal.h"

using girdle::base::Decimal;

namespace {

void hold(bool holds) {
  if (!holds) std::abort();
}

}  // namespace

// Two numbers with a space between.
extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const size_t space = text.find(' ');
  const auto a = Decimal::parse(text.substr(0, space));
  if (!a) return 0;
  hold(Decimal::parse(a->text()) == *a);
  for (int places = -3; places < 40; ++places) {
    const Decimal rounded = a->rounded(places);
    const auto off = subtract(*a, rounded);
    const auto unit = Decimal::make(1, -places);
    if (off && unit) hold(*off <= *unit && *off >= *subtract(Decimal(), *unit));
  }
  const auto b = space == std::string_view::npos ? a : Decimal::parse(text.substr(space + 1));
  if (!b) return 0;
  if (const auto sum = add(*a, *b)) {
    const auto back = subtract(*sum, *b);
    if (back) hold(*back == *a);
    hold(b->is_negative() ? *sum < *a : *sum >= *a);
  }
  if (const auto product = multiply(*a, *b); product && !b->is_zero()) {
    if (const auto back = divide(*product, *b)) hold(*back == *a);
  }
  hold((*a < *b) == (*b > *a) && (*a == *b) == (a->text() == b->text()));
  return 0;
}
