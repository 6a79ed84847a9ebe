#include "policy/value.h"

#include <array>
#include <utility>

namespace girdle::policy {
namespace {

struct TypeWords {
  std::string_view name, alias, example;
};

// In the order of Type.
constexpr std::array<TypeWords, 8> kTypes = {{
    {"boolean", "boolean", "true"},
    {"number", "number", "0.53"},
    {"string", "string", "natural"},
    {"date", "date", "2026-11-02"},
    {"time", "time", "10:15:30"},
    {"date and time", "dateTime", "2026-11-02T10:15:30"},
    {"days and time duration", "dayTimeDuration", "P1DT2H"},
    {"years and months duration", "yearMonthDuration", "P1Y6M"},
}};

const TypeWords& words_of(Type type) { return kTypes[static_cast<size_t>(type)]; }

template <class T>
base::Result<Value> value_or_error(base::Result<T> parsed) {
  if (!parsed) return parsed.error();
  return Value(std::move(*parsed));
}

struct Writer {
  std::string operator()(std::monostate) const { return "null"; }
  std::string operator()(bool flag) const { return flag ? "true" : "false"; }
  std::string operator()(const std::string& text) const { return text; }
  std::string operator()(const auto& other) const { return other.text(); }
};

}  // namespace

std::optional<Type> type_of(const Value& value) {
  if (is_null(value)) return std::nullopt;
  return static_cast<Type>(value.index() - 1);
}

std::string_view type_name(Type type) { return words_of(type).name; }

std::optional<Type> type_named(std::string_view name) {
  for (size_t i = 0; i < kTypes.size(); ++i) {
    if (kTypes[i].name == name || kTypes[i].alias == name) return static_cast<Type>(i);
  }
  return std::nullopt;
}

std::string_view example_of(Type type) { return words_of(type).example; }

std::optional<Value> value_of_text(std::string_view text, Type type) {
  switch (type) {
    case Type::kBoolean:
      if (text == "true") return Value(true);
      if (text == "false") return Value(false);
      return std::nullopt;
    case Type::kNumber:
      if (const auto number = base::Decimal::parse(text)) return Value(*number);
      return std::nullopt;
    case Type::kString:
      return Value(std::string(text));
    case Type::kDate:
    case Type::kTime:
    case Type::kDateTime:
    case Type::kDaysDuration:
    case Type::kMonthsDuration:
      break;
  }
  auto value = temporal_of_text(text, type);
  if (!value) return std::nullopt;
  return std::move(*value);
}

base::Result<Value> temporal_of_text(std::string_view text, Type type) {
  if (type == Type::kDate) return value_or_error(Date::parse(text));
  if (type == Type::kTime) return value_or_error(Time::parse(text));
  if (type == Type::kDateTime) return value_or_error(DateTime::parse(text));
  auto value = duration_of_text(text);
  if (value && !has_type(*value, type)) {
    return base::input_error("is a " + std::string(type_name(*type_of(*value))) + ", not a " +
                             std::string(type_name(type)));
  }
  return value;
}

base::Result<Value> duration_of_text(std::string_view text) {
  auto duration = parse_duration(text);
  if (!duration) return duration.error();
  return std::visit([](const auto& of) { return Value(of); }, *duration);
}

base::Result<Value> temporal_of_text(std::string_view text) {
  if (text.starts_with('P') || text.starts_with("-P")) return duration_of_text(text);
  if (text.find('T') != std::string_view::npos) return value_or_error(DateTime::parse(text));
  // "10:15:30@Etc/UTC" and "10:15:30-05:00" are times: the colon comes first.
  if (text.find(':') < 3) return value_or_error(Time::parse(text));
  return value_or_error(Date::parse(text));
}

std::string plain_text(const Value& value) { return std::visit(Writer(), value); }

void write_json(base::JsonWriter& json, const Value& value) {
  if (const auto* flag = std::get_if<bool>(&value)) {
    json.boolean(*flag);
  } else if (const auto* number = std::get_if<base::Decimal>(&value)) {
    json.raw(number->text());
  } else if (is_null(value)) {
    json.null();
  } else {
    json.text(plain_text(value));
  }
}

std::string to_json(const Value& value) {
  std::string out;
  base::JsonWriter json(out);
  write_json(json, value);
  return out;
}

}  // namespace girdle::policy
