// Rows of the DMN TCK (github.com/dmn-tck/tck at 0dbcaf9) 0064, 0065, 0066, 0106, 0107 and 0068, by
// id; clauses of DMN 1.5.
#include "policy/truth.h"

#include <gtest/gtest.h>

#include "policy/values.h"

namespace girdle::policy {
namespace {

// 0106-feel-ternary-logic DecisionAnd 001-009; Table 50.
TEST(Truth, ConjunctionIsFalseAsSoonAsOnePartIs) {
  EXPECT_EQ(both(Truth::kTrue, Truth::kTrue), Truth::kTrue);
  EXPECT_EQ(both(Truth::kFalse, Truth::kTrue), Truth::kFalse);
  EXPECT_EQ(both(Truth::kUnknown, Truth::kFalse), Truth::kFalse);
  EXPECT_EQ(both(Truth::kFalse, Truth::kMismatch), Truth::kFalse);
  EXPECT_EQ(both(Truth::kUnknown, Truth::kTrue), Truth::kUnknown);
}

// 0106-feel-ternary-logic DecisionOr 001-009, 0065-feel-disjunction/007_a; Table 50.
TEST(Truth, DisjunctionIsTrueAsSoonAsOnePartIs) {
  EXPECT_EQ(either(Truth::kFalse, Truth::kFalse), Truth::kFalse);
  EXPECT_EQ(either(Truth::kUnknown, Truth::kTrue), Truth::kTrue);
  EXPECT_EQ(either(Truth::kTrue, Truth::kMismatch), Truth::kTrue);
  EXPECT_EQ(either(Truth::kUnknown, Truth::kFalse), Truth::kUnknown);
  EXPECT_EQ(either(Truth::kUnknown, Truth::kUnknown), Truth::kUnknown);
}

// 0107-feel-ternary-logic-not 001, 002; 0066-feel-negation/003_b; Table 51.
TEST(Truth, NegationOfTheUnknownIsUnknown) {
  EXPECT_EQ(negated(Truth::kTrue), Truth::kFalse);
  EXPECT_EQ(negated(Truth::kFalse), Truth::kTrue);
  EXPECT_EQ(negated(Truth::kUnknown), Truth::kUnknown);
  EXPECT_EQ(negated(Truth::kMismatch), Truth::kMismatch);
}

// 0068-feel-equality number_003, number_004, string_001; Tables 49, 53.
TEST(Truth, EqualityIsOfValuesNotOfSpellings) {
  EXPECT_EQ(equals(number("0"), number("0.00")), Truth::kTrue);
  EXPECT_EQ(equals(number("-0"), number("0")), Truth::kTrue);
  EXPECT_EQ(equals(text("foo"), text("foo")), Truth::kTrue);
  EXPECT_EQ(equals(text("foo"), text("Foo")), Truth::kFalse);
}

// 0068-feel-equality boolean_006, number_006, null rows of Table 49.
TEST(Truth, EqualityWithNullIsNeverUnknown) {
  EXPECT_EQ(equals(Value(), Value()), Truth::kTrue);
  EXPECT_EQ(equals(number("100"), Value()), Truth::kFalse);
  EXPECT_EQ(equals(Value(), text("")), Truth::kFalse);
}

// 0068-feel-equality boolean_008, number_007, string_005; Table 52.
TEST(Truth, OtherKindsDoNotCompare) {
  EXPECT_EQ(equals(Value(false), number("0")), Truth::kMismatch);
  EXPECT_EQ(equals(number("100"), text("100")), Truth::kMismatch);
  EXPECT_EQ(as_standard(equals(text("foo"), number("100"))), std::nullopt);
  EXPECT_EQ(order_of(text("1"), number("1")), Order::kMismatch);
}

// Table 54: by code point, the shorter first. U+FF5E is above every two-byte character and below
// U+1F48E, which UTF-16 would sort the other way round.
TEST(Truth, TextsAreOrderedByCodePoint) {
  EXPECT_EQ(order_of(text("b"), text("d")), Order::kLess);
  EXPECT_EQ(order_of(text("a"), text("ab")), Order::kLess);
  EXPECT_EQ(order_of(text("Z"), text("a")), Order::kLess);
  EXPECT_EQ(order_of(text("\xF0\x9F\x92\x8E"), text("\xEF\xBD\x9E")), Order::kGreater);
}

// 9.4 and Table 54: booleans are only equal or not; nothing is ordered with null.
TEST(Truth, BooleansAndNullHaveNoOrder) {
  EXPECT_EQ(order_of(Value(false), Value(true)), Order::kMismatch);
  EXPECT_EQ(order_of(Value(), number("1")), Order::kUnknown);
  EXPECT_EQ(order_of(Value(), Value()), Order::kUnknown);
}

}  // namespace
}  // namespace girdle::policy
