// Three-valued logic, and comparisons that answer in it.
//
// Sources: DMN 1.5 clause 10, Tables 49 and 52-54 (comparisons) and Tables 50, 51 (and, or, not).
// Unknown is the standard's null. We tell apart why a comparison has no answer: kUnknown because a
// fact is missing, kMismatch because the kinds of the two values do not compare. For the standard
// both are null, and neither satisfies a cell; a table that is left with a mismatch says that it
// could not be evaluated, instead of passing the rule by.
#pragma once

#include <cstdint>
#include <optional>

#include "policy/value.h"

namespace girdle::policy {

enum class Truth : uint8_t { kFalse, kTrue, kUnknown, kMismatch };

constexpr Truth truth(bool value) { return value ? Truth::kTrue : Truth::kFalse; }

// What the standard calls it: null where there is no answer.
constexpr std::optional<bool> as_standard(Truth value) {
  if (value == Truth::kTrue) return true;
  if (value == Truth::kFalse) return false;
  return std::nullopt;
}

// False wins, then a mismatch, then unknown.
constexpr Truth both(Truth a, Truth b) {
  if (a == Truth::kFalse || b == Truth::kFalse) return Truth::kFalse;
  return a > b ? a : b;
}

// True wins, then a mismatch, then unknown.
constexpr Truth either(Truth a, Truth b) {
  if (a == Truth::kTrue || b == Truth::kTrue) return Truth::kTrue;
  return a > b ? a : b;
}

constexpr Truth negated(Truth a) {
  switch (a) {
    case Truth::kFalse:
      return Truth::kTrue;
    case Truth::kTrue:
      return Truth::kFalse;
    case Truth::kUnknown:
    case Truth::kMismatch:
      return a;
  }
  return a;
}

enum class Order : uint8_t { kLess, kEqual, kGreater, kUnknown, kMismatch };

// Numbers by value, texts by code point, a prefix first, dates and the like as date_time.h has it
// (Table 54). Unknown with null; booleans have no order.
Order order_of(const Value& a, const Value& b);

// Both are of the same alternative.
Truth equals_of_one_kind(const Value& a, const Value& b);

// null = null is true, null = value is false, never unknown (Table 49); other kinds do not compare
// (Table 52).
// Inline: most cells are an equality, and a policy asks dozens of them for a case.
inline Truth equals(const Value& a, const Value& b) {
  if (a.index() != b.index()) {
    return is_null(a) || is_null(b) ? Truth::kFalse : Truth::kMismatch;
  }
  if (const auto* text = std::get_if<std::string>(&a)) {
    return truth(*text == *std::get_if<std::string>(&b));
  }
  if (const auto* number = std::get_if<base::Decimal>(&a)) {
    return truth(*number == *std::get_if<base::Decimal>(&b));
  }
  return equals_of_one_kind(a, b);
}

}  // namespace girdle::policy
