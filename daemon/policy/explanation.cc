// Why a table decided as it did: every rule, and the first cell that kept it from matching.
#include "policy/table.h"

namespace girdle::policy {
namespace {

std::string_view result_name(Truth result) {
  switch (result) {
    case Truth::kTrue:
      return "matched";
    case Truth::kFalse:
      return "not_matched";
    case Truth::kUnknown:
      return "unknown";
    case Truth::kMismatch:
      return "not_comparable";
  }
  return {};
}

void write_trace(base::JsonWriter& json, const RuleTrace& trace) {
  json.begin_object();
  json.member("rule", int64_t{trace.rule});
  json.member("result", result_name(trace.result));
  if (trace.column > 0) {
    json.member("column", int64_t{trace.column});
    json.member("fact", trace.fact);
    json.key("value");
    write_json(json, trace.value);
    json.member("cell", trace.cell);
    json.member("failing", int64_t{trace.failing});
  }
  json.end_object();
}

}  // namespace

RuleTrace Table::trace_of(size_t rule, std::span<const Value> facts) const {
  RuleTrace trace{.rule = static_cast<int>(rule) + 1, .result = result_of(rules_[rule], facts)};
  for (const Cell& cell : rules_[rule].cells) {
    if (cell.test.evaluate(facts[cell.fact], facts) == Truth::kTrue) continue;
    if (trace.failing++ > 0) continue;
    trace.column = static_cast<int>(cell.column) + 1;
    trace.fact = fact_names_[cell.fact];
    trace.value = facts[cell.fact];
    trace.cell = cell.text;
  }
  return trace;
}

Explanation Table::explain(std::span<const Value> facts) const {
  Explanation explanation{evaluate(facts), {}};
  if (facts.size() < given()) return explanation;
  std::vector<Value> all;
  // An input that has no value is told by the decision; there is nothing then to hold rules
  // against.
  if (!computed_.empty() && complete(facts, all)) return explanation;
  const auto seen = computed_.empty() ? facts : std::span<const Value>(all);
  for (size_t i = 0; i < rules_.size(); ++i) explanation.rules.push_back(trace_of(i, seen));
  return explanation;
}

Explanation Table::explain(const Facts& facts) const { return explain(in_order(facts)); }

void write_json(base::JsonWriter& json, const Explanation& explanation) {
  json.begin_object().key("decision");
  write_json(json, explanation.decision);
  json.key("rules").begin_array();
  for (const RuleTrace& trace : explanation.rules) write_trace(json, trace);
  json.end_array().end_object();
}

}  // namespace girdle::policy
