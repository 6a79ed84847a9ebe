// Short ways to write values in tests.
#pragma once

#include <string>
#include <string_view>

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

}  // namespace girdle::policy
