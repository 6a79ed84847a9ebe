// Short ways to write values in tests.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "policy/value.h"

namespace girdle::policy {

inline Value number(std::string_view digits) { return *base::Decimal::parse(digits); }
inline Value value(std::string_view text, Type type) { return *value_of_text(text, type); }
inline Value date(std::string_view text) { return value(text, Type::kDate); }
inline Value time(std::string_view text) { return value(text, Type::kTime); }
inline Value date_time(std::string_view text) { return value(text, Type::kDateTime); }
inline Value days(std::string_view text) { return value(text, Type::kDaysDuration); }
inline Value months(std::string_view text) { return value(text, Type::kMonthsDuration); }
inline Value text(std::string value) { return value; }

// One of each kind, null first.
inline std::vector<Value> values_of_every_kind() {
  return {Value(),
          true,
          base::Decimal(2),
          std::string("natural"),
          Date{2026, 11, 2},
          Time{36000, 0, {3600, nullptr}},
          DateTime{},
          DaysDuration{1},
          MonthsDuration{1}};
}

}  // namespace girdle::policy
