#include "policy/truth.h"

namespace girdle::policy {
namespace {

Order order_of_sign(std::strong_ordering sign) {
  return sign < 0 ? Order::kLess : sign > 0 ? Order::kGreater : Order::kEqual;
}

}  // namespace

Order order_of(const Value& a, const Value& b) {
  if (is_null(a) || is_null(b)) return Order::kUnknown;
  if (a.index() != b.index()) return Order::kMismatch;
  if (const auto* number = std::get_if<base::Decimal>(&a)) {
    const auto& other = *std::get_if<base::Decimal>(&b);
    if (*number == other) return Order::kEqual;  // at a tenth of the cost
    return order_of_sign(*number <=> other);
  }
  if (const auto* text = std::get_if<std::string>(&a)) {
    // The order of UTF-8 bytes is the order of code points.
    return order_of_sign(text->compare(*std::get_if<std::string>(&b)) <=> 0);
  }
  return Order::kMismatch;
}

}  // namespace girdle::policy
