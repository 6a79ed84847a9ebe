#include "policy/truth.h"

namespace girdle::policy {
namespace {

Order order_of_sign(std::strong_ordering sign) {
  return sign < 0 ? Order::kLess : sign > 0 ? Order::kGreater : Order::kEqual;
}

// Of two values of one kind.
struct OrderWithin {
  const Value& other;

  Order operator()(std::monostate) const { return Order::kUnknown; }
  Order operator()(bool) const { return Order::kMismatch; }
  Order operator()(const base::Decimal& number) const {
    return order_of_sign(number <=> get<base::Decimal>());
  }
  // The order of UTF-8 bytes is the order of code points.
  Order operator()(const std::string& text) const {
    return order_of_sign(text.compare(get<std::string>()) <=> 0);
  }
  Order operator()(const Time& time) const {
    const auto sign = compare(time, get<Time>());
    return sign ? order_of_sign(*sign <=> 0) : Order::kMismatch;
  }
  Order operator()(const DateTime& moment) const {
    return order_of_sign(compare(moment, get<DateTime>()) <=> 0);
  }
  template <class T>  // dates and durations
  Order operator()(const T& value) const {
    return order_of_sign(value <=> get<T>());
  }

  template <class T>
  const T& get() const {
    return *std::get_if<T>(&other);
  }
};

}  // namespace

Order order_of(const Value& a, const Value& b) {
  if (is_null(a) || is_null(b)) return Order::kUnknown;
  if (a.index() != b.index()) return Order::kMismatch;
  if (const auto* number = std::get_if<base::Decimal>(&a)) {
    const auto& other = *std::get_if<base::Decimal>(&b);
    if (*number == other) return Order::kEqual;  // at a tenth of the cost
    return order_of_sign(*number <=> other);
  }
  return std::visit(OrderWithin{b}, a);
}

Truth equals_of_one_kind(const Value& a, const Value& b) {
  if (is_null(a)) return Truth::kTrue;
  if (const auto* flag = std::get_if<bool>(&a)) return truth(*flag == *std::get_if<bool>(&b));
  const Order order = order_of(a, b);
  return order == Order::kMismatch ? Truth::kMismatch : truth(order == Order::kEqual);
}

}  // namespace girdle::policy
