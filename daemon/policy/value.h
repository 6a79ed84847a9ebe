// Values of decision tables and their types.
//
// Sources: DMN 1.5, 9.3 and 10.3.2.3. Numbers are exact decimals (base/decimal.h); texts are UTF-8.
// Dates, times and durations: date_time.h, duration.h. Plain values, no ownership beyond their own
// text; any thread.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>

#include "base/decimal.h"
#include "base/json.h"
#include "base/result.h"
#include "policy/date_time.h"
#include "policy/duration.h"

namespace girdle::policy {

// std::monostate is the standard's null: a fact that is not known.
using Value = std::variant<std::monostate, bool, base::Decimal, std::string, Date, Time, DateTime,
                           DaysDuration, MonthsDuration>;
// Tables and lists of facts are full of them.
static_assert(sizeof(Value) <= 48);

inline const Value kNull;

// In the order of Value's alternatives.
enum class Type : uint8_t {
  kBoolean,
  kNumber,
  kString,
  kDate,
  kTime,
  kDateTime,
  kDaysDuration,
  kMonthsDuration
};

inline bool is_null(const Value& value) { return value.index() == 0; }
// Nothing for null, which belongs to every type.
std::optional<Type> type_of(const Value& value);
inline bool has_type(const Value& value, Type type) {
  return value.index() == static_cast<size_t>(type) + 1;
}
constexpr bool is_temporal(Type type) { return type >= Type::kDate; }

// "boolean", "number", "date and time", …: how table files write types.
std::string_view type_name(Type type);
// Those, and the other names that the standard's files have: dateTime, dayTimeDuration,
// yearMonthDuration.
std::optional<Type> type_named(std::string_view name);
// What a value of the type looks like as a text, for messages.
std::string_view example_of(Type type);

// A fact given as text, e.g. "2", "true" or "2026-11-02"; a string is taken as it is. Nothing when
// the text is not of the type.
std::optional<Value> value_of_text(std::string_view text, Type type);
// "duration" literals: of either kind.
base::Result<Value> duration_of_text(std::string_view text);
// What @"…" means (DMN 1.5, 10.3.1.2 rule 66): the kind is seen from the form.
base::Result<Value> temporal_of_text(std::string_view text);
// Of a type that is_temporal(). Errors say what is wrong, after the text: "has no month 13".
base::Result<Value> temporal_of_text(std::string_view text, Type type);

// A number in plain notation, a text as it is, a date and the like as in its literal's quotes.
std::string plain_text(const Value& value);

// Numbers as JSON numbers in plain notation, all digits; dates and the like as texts; null as null.
void write_json(base::JsonWriter& json, const Value& value);
std::string to_json(const Value& value);

}  // namespace girdle::policy
