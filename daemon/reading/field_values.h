// From one raw text to one value of a field, by its rule.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "base/decimal.h"
#include "model/mapping.h"

namespace girdle::reading {

// What a decimal field may hold.
enum class Range { kAny, kPositive, kNotNegative, kFraction, kPercent, kCelsius };

// Factor and offset to our unit are exact, but for Fahrenheit.
enum class Unit { kOurs, kGram, kMilligram, kMicrometre, kInch, kFahrenheit, kPercentOfOne };

// `unit` as the mapping writes it, for a field of ours.
std::optional<Unit> unit_of(std::string_view field, std::string_view unit);

// Nothing, with the reason, when the text is not a number under these marks, or is out of range in our unit.
std::optional<base::Decimal> read_decimal(std::string_view text, const model::FieldRule& rule, Unit unit, Range range,
                                          std::string& reason);

// Nothing, with the reason, for an empty text, one of over 200 bytes, or one with control characters.
bool check_key(std::string_view text, std::string& reason);

}  // namespace girdle::reading
