// Short ways to write values in tests.
#pragma once

#include <string>
#include <string_view>

#include "policy/value.h"

namespace girdle::policy {

inline Value number(std::string_view digits) { return *base::Decimal::parse(digits); }
inline Value text(std::string value) { return value; }

}  // namespace girdle::policy
