// Values of decision tables and their types.
//
// Sources: DMN 1.5, 9.3 and 10.3.2.3. Numbers are exact decimals (base/decimal.h); texts are UTF-8.
// Dates, times and durations will be further alternatives of Value and further types; whoever
// switches over them will be told by the compiler. Plain values, no ownership beyond their own
// text; any thread.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>

#include "base/decimal.h"
#include "base/json.h"

namespace girdle::policy {

// std::monostate is the standard's null: a fact that is not known.
using Value = std::variant<std::monostate, bool, base::Decimal, std::string>;

inline const Value kNull;

enum class Type : uint8_t { kBoolean, kNumber, kString };

inline bool is_null(const Value& value) { return value.index() == 0; }
// Nothing for null, which belongs to every type.
std::optional<Type> type_of(const Value& value);
bool has_type(const Value& value, Type type);

// "boolean", "number", "string": how table files write types.
std::string_view type_name(Type type);
std::optional<Type> type_named(std::string_view name);

// A fact given as text, e.g. "2" or "true"; a string is taken as it is. Nothing when the text is
// not of the type.
std::optional<Value> value_of_text(std::string_view text, Type type);

// Numbers as JSON numbers in plain notation, all digits; null as null.
void write_json(base::JsonWriter& json, const Value& value);
std::string to_json(const Value& value);

}  // namespace girdle::policy
