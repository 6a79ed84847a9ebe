#include "policy/value.h"

#include <gtest/gtest.h>

namespace girdle::policy {
namespace {

TEST(PolicyValue, WritesNumbersAsJsonNumbersWithAllTheirDigits) {
  EXPECT_EQ(to_json(Value(*base::Decimal::parse("0.10"))), "0.1");
  EXPECT_EQ(to_json(Value(*base::Decimal::parse("1234567890123456789012345678901234"))),
            "1234567890123456789012345678901234");
}

TEST(PolicyValue, WritesTextsTrueAndNullAsJson) {
  EXPECT_EQ(to_json(Value(std::string("a\"b"))), R"("a\"b")");
  EXPECT_EQ(to_json(Value(true)), "true");
  EXPECT_EQ(to_json(Value()), "null");
}

TEST(PolicyValue, ReadsATextAsTheTypeOfItsColumn) {
  EXPECT_EQ(value_of_text("2.50", Type::kNumber), Value(*base::Decimal::parse("2.5")));
  EXPECT_EQ(value_of_text("2.50", Type::kString), Value(std::string("2.50")));
  EXPECT_EQ(value_of_text("true", Type::kBoolean), Value(true));
}

TEST(PolicyValue, ReadsNothingFromATextOfAnotherType) {
  EXPECT_EQ(value_of_text("two", Type::kNumber), std::nullopt);
  EXPECT_EQ(value_of_text("1,5", Type::kNumber), std::nullopt);
  EXPECT_EQ(value_of_text("yes", Type::kBoolean), std::nullopt);
}

TEST(PolicyValue, KnowsTheNamesOfItsTypes) {
  for (const Type type : {Type::kBoolean, Type::kNumber, Type::kString, Type::kDate, Type::kTime,
                          Type::kDateTime, Type::kDaysDuration, Type::kMonthsDuration}) {
    EXPECT_EQ(type_named(type_name(type)), type);
    EXPECT_EQ(type_of(value_of_text(example_of(type), type).value()), type);
  }
  EXPECT_EQ(type_named("dateTime"), Type::kDateTime);
  EXPECT_EQ(type_named("years and months duration"), Type::kMonthsDuration);
  EXPECT_EQ(type_named("datum"), std::nullopt);
  EXPECT_EQ(type_of(Value()), std::nullopt);
}

}  // namespace
}  // namespace girdle::policy
