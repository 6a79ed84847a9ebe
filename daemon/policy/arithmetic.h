// Sums, differences, products, quotients and powers of decision tables' values.
//
// Sources: DMN 1.5, 9.4 and Tables 56 to 60; where they differ README.md has the choice. Numbers
// are rounded half to even to 34 digits. Pure; any thread.
#pragma once

#include <cstdint>

#include "base/result.h"
#include "policy/value.h"

namespace girdle::policy {

enum class Operator : uint8_t { kAdd, kSubtract, kMultiply, kDivide, kPower };

// "+", "-", "*", "/", "**".
std::string_view sign_of(Operator op);

// Null where one of them is null. The standard's other nulls are errors: of the fault kCall where
// the kinds of the two never go together, whatever their values; of kInput where these values have
// no result: beyond the numbers' or the years' range, divided by zero. The text says what was to be
// calculated.
base::Result<Value> calculate(Operator op, const Value& a, const Value& b);

// Of a number or a duration; else as calculate().
base::Result<Value> opposite(const Value& value);

}  // namespace girdle::policy
