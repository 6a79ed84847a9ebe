#include "policy/expression.h"

#include <algorithm>
#include <utility>

#include "base/text.h"

namespace girdle::policy {

using base::Result;
using base::in_quotes;

class ExpressionParser {
 public:
  using Kind = Expression::Step::Kind;

  ExpressionParser(CellScanner& scanner, Expression& out) : scanner_(scanner), out_(out) {}

  Result<void> comparison() {
    if (auto left = sum(); !left) return left;
    const auto kind = take_comparison(scanner_);
    if (!kind) return {};
    if (auto right = sum(); !right) return right;
    add(Kind::kComparison).comparison = *kind;
    return {};
  }

 private:
  Result<void> sum() {
    auto read = product();
    while (read) {
      const bool plus = scanner_.take("+");
      if (!plus && !scanner_.take("-")) break;
      read = product();
      if (read) add(plus ? Operator::kAdd : Operator::kSubtract);
    }
    return read;
  }

  Result<void> product() {
    auto read = power();
    while (read) {
      const bool times = scanner_.take("*");
      if (!times && !scanner_.take("/")) break;
      read = power();
      if (read) add(times ? Operator::kMultiply : Operator::kDivide);
    }
    return read;
  }

  Result<void> power() {
    auto read = signed_value();
    while (read && scanner_.take("**")) {
      read = signed_value();
      if (read) add(Operator::kPower);
    }
    return read;
  }

  Result<void> signed_value() {
    if (scanner_.at_number()) return value();
    bool minus = false;
    while (scanner_.take("-")) {
      minus = !minus;
      if (scanner_.at_number()) break;
    }
    if (auto read = value(); !read) return read;
    if (minus) add(Kind::kOpposite);
    return {};
  }

  Result<void> value() {
    if (!scanner_.take("(")) {
      auto operand = scanner_.operand();
      if (!operand) return operand.error();
      add(Kind::kOperand).operand = std::move(*operand);
      return {};
    }
    if (++depth_ > Expression::kMaxDepth)
      return scanner_.error("brackets stand too deep in each other");
    auto read = sum();
    if (!read) return read;
    if (!scanner_.take(")")) return scanner_.unexpected("the closing bracket");
    --depth_;
    return {};
  }

  // Filled where it stands: g++ 12 takes a temporary's unused alternatives for read.
  Expression::Step& add(Kind kind) {
    Expression::Step& step = out_.steps_.emplace_back();
    step.kind = kind;
    return step;
  }
  void add(Operator op) { add(Kind::kOperator).op = op; }

  CellScanner& scanner_;
  Expression& out_;
  int depth_ = 0;
};

namespace {

Result<Value> compared(Comparison::Kind kind, Value a, Value b) {
  const Comparison comparison{.kind = kind, .low = {std::move(b)}};
  const Truth truth = comparison.evaluate(a, {});
  if (truth == Truth::kUnknown) return Value();
  if (truth == Truth::kMismatch) {
    return base::call_error(base::excerpt(to_json(a), 40) + " cannot be compared with " +
                            base::excerpt(to_json(comparison.low.literal), 40));
  }
  return Value(truth == Truth::kTrue);
}

}  // namespace

Result<Expression> Expression::parse(std::string_view text, std::span<const std::string> in_scope) {
  Expression expression;
  CellScanner scanner(text, expression.names_, in_scope);
  if (auto whole = scanner.check_value(); !whole) return whole.error();
  ExpressionParser parser(scanner, expression);
  if (auto read = parser.comparison(); !read) return read.error();
  if (!scanner.at_end()) return scanner.unexpected("the end of the cell");
  if (expression.steps_.size() == 1 || !expression.names_.empty()) return expression;
  auto value = expression.evaluate({});
  if (!value) return base::input_error(value.error().text);
  expression.steps_.clear();
  expression.steps_.emplace_back().operand.literal = std::move(*value);
  return expression;
}

bool Expression::has_temporal_literal() const {
  return std::ranges::any_of(steps_, [](const Step& step) {
    const auto type = type_of(step.operand.literal);
    return type && is_temporal(*type);
  });
}

void Expression::bind(std::span<const int32_t> places) {
  for (Step& step : steps_) {
    if (step.operand.is_name()) step.operand.fact = places[static_cast<size_t>(step.operand.fact)];
  }
}

Result<Value> Expression::perform(const Step& step, std::vector<Value>& stack,
                                  std::span<const Value> facts) {
  if (step.kind == Step::Kind::kOperand) return step.operand.value(facts);
  Value last = std::move(stack.back());
  stack.pop_back();
  if (step.kind == Step::Kind::kOpposite) return opposite(last);
  Value first = std::move(stack.back());
  stack.pop_back();
  if (step.kind == Step::Kind::kOperator) return calculate(step.op, first, last);
  return compared(step.comparison, std::move(first), std::move(last));
}

Result<Value> Expression::evaluate(std::span<const Value> facts) const {
  std::vector<Value> stack;
  for (const Step& step : steps_) {
    auto value = perform(step, stack, facts);
    if (!value) return value;
    stack.push_back(std::move(*value));
  }
  return std::move(stack.back());
}

int32_t Expression::missing(std::span<const Value> facts) const {
  for (const Step& step : steps_) {
    if (step.operand.is_name() && is_null(step.operand.value(facts))) return step.operand.fact;
  }
  return -1;
}

}  // namespace girdle::policy
