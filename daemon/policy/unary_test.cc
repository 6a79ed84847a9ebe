#include "policy/unary_test.h"

#include <utility>

#include "base/text.h"

namespace girdle::policy {
namespace {

using base::Result;
using Kind = Comparison::Kind;

// Longer marks first: "<" begins "<=" too.
constexpr std::pair<std::string_view, Kind> kOperators[] = {
    {"<=", Kind::kAtMost}, {">=", Kind::kAtLeast}, {"!=", Kind::kNotEqual},
    {"<", Kind::kLess},    {">", Kind::kMore},     {"=", Kind::kEqual},
};

Truth from_order(Order order, bool less, bool equal, bool greater) {
  switch (order) {
    case Order::kLess:
      return truth(less);
    case Order::kEqual:
      return truth(equal);
    case Order::kGreater:
      return truth(greater);
    case Order::kUnknown:
      return Truth::kUnknown;
    case Order::kMismatch:
      return Truth::kMismatch;
  }
  return Truth::kMismatch;
}

// A range with a missing end, or that runs backwards, is no range: neither it nor its negation is
// satisfied.
Truth within(const Value& input, const Comparison& range, std::span<const Value> facts) {
  const Value& low = range.low.value(facts);
  const Value& high = range.high.value(facts);
  const Order ends = order_of(low, high);
  if (ends == Order::kGreater) return Truth::kUnknown;
  if (ends == Order::kUnknown || ends == Order::kMismatch) return from_order(ends, 0, 0, 0);
  return both(from_order(order_of(input, low), false, !range.low_open, true),
              from_order(order_of(input, high), true, !range.high_open, false));
}

// What can be known of a range when it is read.
Result<void> check_ends(const CellScanner& scanner, const Comparison& range) {
  if (range.low.is_name() || range.high.is_name()) return {};
  const Value& low = range.low.literal;
  const Value& high = range.high.literal;
  if (is_null(low) && is_null(high)) return scanner.error("a range has two ends; null is none");
  switch (order_of(low, high)) {
    case Order::kMismatch:
      return scanner.error(
          "the ends of a range are of one kind: two numbers or two texts, two dates, …");
    case Order::kGreater:
      return scanner.error("the range runs backwards: write the smaller end first");
    case Order::kLess:
    case Order::kEqual:
    case Order::kUnknown:
      return {};
  }
  return {};
}

Result<Comparison> parse_range(CellScanner& scanner, bool low_open) {
  Comparison range{.kind = Kind::kWithin, .low_open = low_open};
  auto low = scanner.operand();
  if (!low) return low.error();
  range.low = std::move(*low);
  if (!scanner.take("..")) return scanner.unexpected("\"..\" of a range");
  auto high = scanner.operand();
  if (!high) return high.error();
  range.high = std::move(*high);
  if (scanner.take("]")) {
    range.high_open = false;
  } else if (scanner.take(")") || scanner.take("[")) {
    range.high_open = true;
  } else {
    return scanner.unexpected("the closing bracket of a range");
  }
  if (auto ends = check_ends(scanner, range); !ends) return ends.error();
  return range;
}

Result<Comparison> parse_comparison(CellScanner& scanner) {
  if (scanner.take("[")) return parse_range(scanner, false);
  if (scanner.take("(") || scanner.take("]")) return parse_range(scanner, true);
  Comparison comparison;
  comparison.kind = take_comparison(scanner).value_or(Kind::kEqual);
  auto operand = scanner.operand();
  if (!operand) return operand.error();
  comparison.low = std::move(*operand);
  return comparison;
}

Result<std::vector<Comparison>> parse_list(CellScanner& scanner) {
  std::vector<Comparison> list;
  do {
    auto comparison = parse_comparison(scanner);
    if (!comparison) return comparison.error();
    list.push_back(std::move(*comparison));
  } while (scanner.take(","));
  return list;
}

}  // namespace

Truth Comparison::evaluate_order(const Value& input, std::span<const Value> facts) const {
  const auto order = [&] { return order_of(input, low.value(facts)); };
  switch (kind) {
    case Kind::kEqual:
      return equals(input, low.value(facts));
    case Kind::kNotEqual:
      return negated(equals(input, low.value(facts)));
    case Kind::kLess:
      return from_order(order(), true, false, false);
    case Kind::kAtMost:
      return from_order(order(), true, true, false);
    case Kind::kMore:
      return from_order(order(), false, false, true);
    case Kind::kAtLeast:
      return from_order(order(), false, true, true);
    case Kind::kWithin:
      return within(input, *this, facts);
  }
  return Truth::kMismatch;
}

std::optional<Kind> take_comparison(CellScanner& scanner) {
  for (const auto& [mark, kind] : kOperators) {
    if (scanner.take(mark)) return kind;
  }
  return std::nullopt;
}

Result<UnaryTest> UnaryTest::parse(std::string_view text, std::span<const std::string> in_scope) {
  UnaryTest test;
  CellScanner scanner(text, test.names_, in_scope);
  if (auto whole = scanner.check(); !whole) return whole.error();
  if (base::trimmed(text) == "-") {
    test.any_ = true;
    return test;
  }
  test.negated_ = scanner.take_not();
  auto list = parse_list(scanner);
  if (!list) return list.error();
  test.comparisons_ = std::move(*list);
  if (test.negated_ && !scanner.take(")"))
    return scanner.unexpected("\",\" or the \")\" of not(…)");
  if (scanner.at_operator()) {
    return scanner.error("the tests of a cell hold no arithmetic; give it a column of its own");
  }
  if (!scanner.at_end()) return scanner.unexpected("\",\" or the end of the cell");
  return test;
}

void UnaryTest::bind(std::span<const int32_t> places) {
  const auto move = [&](Operand& operand) {
    if (operand.is_name()) operand.fact = places[static_cast<size_t>(operand.fact)];
  };
  for (Comparison& comparison : comparisons_) {
    move(comparison.low);
    move(comparison.high);
  }
}

Truth UnaryTest::evaluate_list(const Value& input, std::span<const Value> facts) const {
  Truth result = Truth::kFalse;
  for (const Comparison& comparison : comparisons_) {
    result = either(result, comparison.evaluate(input, facts));
    if (result == Truth::kTrue) break;
  }
  return negated_ ? negated(result) : result;
}

}  // namespace girdle::policy
