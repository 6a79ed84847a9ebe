#include "policy/value.h"

#include <array>

namespace girdle::policy {
namespace {

constexpr std::array kTypes = {Type::kBoolean, Type::kNumber, Type::kString};

}  // namespace

std::optional<Type> type_of(const Value& value) {
  if (std::holds_alternative<bool>(value)) return Type::kBoolean;
  if (std::holds_alternative<base::Decimal>(value)) return Type::kNumber;
  if (std::holds_alternative<std::string>(value)) return Type::kString;
  return std::nullopt;
}

bool has_type(const Value& value, Type type) {
  switch (type) {
    case Type::kBoolean:
      return std::holds_alternative<bool>(value);
    case Type::kNumber:
      return std::holds_alternative<base::Decimal>(value);
    case Type::kString:
      return std::holds_alternative<std::string>(value);
  }
  return false;
}

std::string_view type_name(Type type) {
  switch (type) {
    case Type::kBoolean:
      return "boolean";
    case Type::kNumber:
      return "number";
    case Type::kString:
      return "string";
  }
  return {};
}

std::optional<Type> type_named(std::string_view name) {
  for (const Type type : kTypes) {
    if (type_name(type) == name) return type;
  }
  return std::nullopt;
}

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
  }
  return std::nullopt;
}

void write_json(base::JsonWriter& json, const Value& value) {
  if (const auto* flag = std::get_if<bool>(&value)) {
    json.boolean(*flag);
  } else if (const auto* number = std::get_if<base::Decimal>(&value)) {
    json.raw(number->text());
  } else if (const auto* text = std::get_if<std::string>(&value)) {
    json.text(*text);
  } else {
    json.null();
  }
}

std::string to_json(const Value& value) {
  std::string out;
  base::JsonWriter json(out);
  write_json(json, value);
  return out;
}

}  // namespace girdle::policy
