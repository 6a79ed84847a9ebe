// The text of an input expression or of an output cell: S-FEEL simple expressions.
//
//   2   "natural"   price            a value, or the fact of that name
//   price / carat   -(a + b) ** 2    arithmetic; ** before * and /, those before + and -
//   price > 5000                     a comparison gives true or false
//
// Sources: DMN 1.5 clause 9.2 rules 2-4, 14-21 and 35; the order of operators of clause 10.3.1.2
// rules 2 and 4 (a minus in front binds the closest, ** goes from left to right). Values are
// immutable; any thread.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "policy/arithmetic.h"
#include "policy/cell_scanner.h"
#include "policy/unary_test.h"
#include "policy/value.h"

namespace girdle::policy {

class Expression {
 public:
  // Brackets inside brackets, and signs before them.
  static constexpr int kMaxDepth = 64;

  // `in_scope`: as of CellScanner. Errors say at which character of the text, and what would be
  // right. What has no names is calculated at once, so that 1 / 0 is refused here.
  static base::Result<Expression> parse(std::string_view text,
                                        std::span<const std::string> in_scope = {});

  // Where the text is no more than a literal or a name.
  const Operand* operand() const { return steps_.size() == 1 ? &steps_.front().operand : nullptr; }
  // Facts that it asks for, each once.
  const std::vector<std::string>& names() const { return names_; }
  bool has_temporal_literal() const;

  // From now on names()[i] is found at facts[places[i]].
  void bind(std::span<const int32_t> places);

  // As calculate(); a comparison of values that do not compare is an error of the fault kCall.
  base::Result<Value> evaluate(std::span<const Value> facts) const;
  // The first fact of it that is missing: its place, or -1.
  int32_t missing(std::span<const Value> facts) const;

 private:
  friend class ExpressionParser;

  // In the order of a calculator that keeps its results on a stack.
  struct Step {
    enum class Kind : uint8_t { kOperand, kOperator, kOpposite, kComparison };
    Kind kind = Kind::kOperand;
    Operator op = Operator::kAdd;
    Comparison::Kind comparison = Comparison::Kind::kEqual;
    Operand operand = {};
  };
  static base::Result<Value> perform(const Step& step, std::vector<Value>& stack,
                                     std::span<const Value> facts);

  std::vector<Step> steps_;
  std::vector<std::string> names_;
};

}  // namespace girdle::policy
