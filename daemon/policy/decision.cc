#include "policy/decision.h"

namespace girdle::policy {
namespace {

void write_record(base::JsonWriter& json, const Decision& decision, size_t index) {
  const auto record = decision.record(index);
  const auto& names = decision.names();
  json.key("outputs");
  if (names.size() == 1 && names.front().empty()) {
    write_json(json, record.front());
    return;
  }
  json.begin_object();
  for (size_t i = 0; i < names.size(); ++i) {
    json.key(names[i]);
    write_json(json, record[i]);
  }
  json.end_object();
}

void write_rules(base::JsonWriter& json, std::span<const int> rules) {
  json.key("rules").begin_array();
  for (const int rule : rules) json.number(rule);
  json.end_array();
}

void write_error(base::JsonWriter& json, const Decision& decision) {
  json.begin_object().key("error").begin_object();
  json.member("kind", name_of(decision.error.kind));
  write_rules(json, decision.rules);
  json.member("text", decision.error.text);
  json.end_object().end_object();
}

void write_list(base::JsonWriter& json, const Decision& decision) {
  json.begin_array();
  for (size_t i = 0; i < decision.records(); ++i) {
    json.begin_object();
    write_record(json, decision, i);
    write_rules(json, std::span(decision.rules).subspan(i, 1));
    json.end_object();
  }
  json.end_array();
}

}  // namespace

std::string_view name_of(EvaluationError::Kind kind) {
  using Kind = EvaluationError::Kind;
  switch (kind) {
    case Kind::kMissing:
      return "missing";
    case Kind::kWrongType:
      return "wrong_type";
    case Kind::kNotAllowed:
      return "not_allowed";
    case Kind::kCell:
      return "cell";
    case Kind::kOverlap:
      return "overlap";
    case Kind::kDisagree:
      return "disagree";
    case Kind::kOutput:
      return "output";
    case Kind::kArithmetic:
      return "arithmetic";
    case Kind::kAggregation:
      return "aggregation";
    case Kind::kCall:
      return "call";
  }
  return {};
}

const Value* Decision::output(std::string_view name) const {
  if (values.empty()) return nullptr;
  for (size_t i = 0; i < names().size(); ++i) {
    if (names()[i] == name) return &values[i];
  }
  return nullptr;
}

void write_json(base::JsonWriter& json, const Decision& decision) {
  switch (decision.kind) {
    case Decision::Kind::kError:
      write_error(json, decision);
      return;
    case Decision::Kind::kNoRule:
      json.begin_object().key("outputs").null();
      write_rules(json, decision.rules);
      json.end_object();
      return;
    case Decision::Kind::kDecided:
      if (decision.is_list) return write_list(json, decision);
      json.begin_object();
      write_record(json, decision, 0);
      write_rules(json, decision.rules);
      json.end_object();
      return;
  }
}

std::string to_json(const Decision& decision) {
  std::string out;
  base::JsonWriter json(out);
  write_json(json, decision);
  return out;
}

}  // namespace girdle::policy
