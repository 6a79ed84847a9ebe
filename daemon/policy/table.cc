#include "policy/table.h"

#include <algorithm>
#include <numeric>

#include "base/text.h"
#include "policy/message.h"

namespace girdle::policy {
namespace {

using Kind = EvaluationError::Kind;

std::string shown(const Value& value) { return base::excerpt(to_json(value)); }
std::string rule_label(size_t rule) { return "rule " + std::to_string(rule + 1); }

EvaluationError failure(Kind kind, std::string text, std::string_view fact = {}) {
  return {.kind = kind, .text = std::move(text), .fact = std::string(fact)};
}

// Place of a value in the allowed values; one that is not there comes last.
size_t rank(const std::vector<Value>& order, const Value& value) {
  return static_cast<size_t>(std::find(order.begin(), order.end(), value) - order.begin());
}

}  // namespace

std::string_view Table::note(int rule) const {
  if (rule < 1 || static_cast<size_t>(rule) > rules_.size()) return {};
  return rules_[static_cast<size_t>(rule) - 1].note;
}

std::vector<Value> Table::in_order(const Facts& facts) const {
  std::vector<Value> ordered(fact_names_.size());
  for (size_t i = 0; i < ordered.size(); ++i) {
    if (const auto found = facts.find(fact_names_[i]); found != facts.end()) {
      ordered[i] = found->second;
    }
  }
  return ordered;
}

Decision Table::evaluate(const Facts& facts) const { return evaluate(in_order(facts)); }

Decision Table::evaluate(std::span<const Value> facts) const {
  Decision decision;
  decision.output_names = output_names_;
  auto failed = check_facts(facts);
  if (!failed) failed = find_rules(facts, decision);
  if (!failed && !decision.rules.empty()) failed = settle(decision);
  if (failed) {
    decision.kind = Decision::Kind::kError;
    decision.error = std::move(*failed);
    if (decision.error.rule > 0) decision.rules = {decision.error.rule};
    decision.values.clear();
    decision.is_list = false;
  } else if (!decision.rules.empty()) {
    decision.kind = Decision::Kind::kDecided;
  } else if (!defaults_.empty()) {
    decision.kind = Decision::Kind::kDecided;
    decision.values = defaults_;
  }
  return decision;
}

// All facts before any rule, so that the answer does not hang on which rule is reached.
Table::Failure Table::check_facts(std::span<const Value> facts) const {
  if (facts.size() < fact_names_.size()) {
    return failure(Kind::kCall, std::to_string(facts.size()) + " facts for a table of " +
                                    std::to_string(fact_names_.size()));
  }
  for (size_t i = 0; i < fact_names_.size(); ++i) {
    if (!fact_types_[i] || is_null(facts[i]) || has_type(facts[i], *fact_types_[i])) continue;
    return failure(Kind::kWrongType,
                   quoted(fact_names_[i]) + " is " + shown(facts[i]) + "; it should be a " +
                       std::string(type_name(*fact_types_[i])),
                   fact_names_[i]);
  }
  for (const InputColumn& column : inputs_) {
    if (auto failed = check_input(column, facts[column.fact])) return failed;
  }
  return std::nullopt;
}

Table::Failure Table::check_input(const InputColumn& column, const Value& value) const {
  const std::string& name = fact_names_[column.fact];
  if (is_null(value)) {
    if (!column.required) return std::nullopt;
    return failure(Kind::kMissing, quoted(name) + " is missing, and the table requires it", name);
  }
  if (!column.has_allowed || column.allowed.evaluate(value, {}) == Truth::kTrue) {
    return std::nullopt;
  }
  return failure(Kind::kNotAllowed,
                 quoted(name) + " is " + shown(value) + ", outside its allowed values", name);
}

// False settles a rule at once; after a mismatch the other cells still may.
Truth Table::result_of(const Rule& rule, std::span<const Value> facts) const {
  Truth result = Truth::kTrue;
  for (const Cell& cell : rule.cells) {
    result = both(result, cell.test.evaluate(facts[cell.fact], facts));
    if (result == Truth::kFalse) break;
  }
  return result;
}

Table::Failure Table::find_rules(std::span<const Value> facts, Decision& decision) const {
  for (size_t i = 0; i < rules_.size(); ++i) {
    const Truth result = result_of(rules_[i], facts);
    if (result == Truth::kMismatch) return cell_error(i, facts);
    if (result != Truth::kTrue) continue;
    if (auto failed = append_record(i, facts, decision)) return failed;
    if (hit_policy_ == HitPolicy::kFirst) break;
  }
  return std::nullopt;
}

Table::Failure Table::append_record(size_t rule, std::span<const Value> facts,
                                    Decision& decision) const {
  const std::vector<Operand>& then = rules_[rule].then;
  decision.rules.push_back(static_cast<int>(rule) + 1);
  decision.values.reserve(decision.values.size() + then.size());
  for (size_t i = 0; i < then.size(); ++i) {
    const Value& value = then[i].value(facts);
    // Literals were checked when the table was read.
    if (then[i].is_name()) {
      if (auto failed = check_output(rule, i, value)) return failed;
    }
    decision.values.push_back(value);
  }
  return std::nullopt;
}

Table::Failure Table::check_output(size_t rule, size_t column, const Value& value) const {
  const OutputColumn& output = outputs_[column];
  const bool fits = !output.type || is_null(value) || has_type(value, *output.type);
  const bool allowed =
      !output.has_allowed || is_null(value) || output.allowed.evaluate(value, {}) == Truth::kTrue;
  if (fits && allowed) return std::nullopt;
  const std::string& name = fact_names_[static_cast<size_t>(rules_[rule].then[column].fact)];
  auto failed = failure(Kind::kOutput,
                        rule_label(rule) + ": the output takes " + shown(value) + " from " +
                            quoted(name) + ", which is outside the output's allowed values",
                        name);
  failed.rule = static_cast<int>(rule) + 1;
  failed.column = static_cast<int>(column) + 1;
  return failed;
}

// Only for a rule that has such a cell.
EvaluationError Table::cell_error(size_t rule, std::span<const Value> facts) const {
  const auto cell = std::ranges::find_if(rules_[rule].cells, [&](const Cell& candidate) {
    return candidate.test.evaluate(facts[candidate.fact], facts) == Truth::kMismatch;
  });
  auto failed = failure(Kind::kCell,
                        rule_label(rule) + ": " + quoted(fact_names_[cell->fact]) + " is " +
                            shown(facts[cell->fact]) + ", which cannot be compared with the cell " +
                            quoted(cell->text),
                        fact_names_[cell->fact]);
  failed.rule = static_cast<int>(rule) + 1;
  failed.column = static_cast<int>(cell->column) + 1;
  return failed;
}

// From the records of all rules that matched, at least one, to what the hit policy makes of them.
Table::Failure Table::settle(Decision& decision) const {
  switch (hit_policy_) {
    case HitPolicy::kFirst:
      return std::nullopt;
    case HitPolicy::kUnique:
      if (decision.rules.size() == 1) return std::nullopt;
      return failure(Kind::kOverlap, "more than one rule matches, and the hit policy is UNIQUE");
    case HitPolicy::kAny:
      return settle_any(decision);
    case HitPolicy::kPriority:
      sort_by_outputs(decision);
      decision.rules.resize(1);
      decision.values.resize(outputs_.size());
      return std::nullopt;
    case HitPolicy::kRuleOrder:
      decision.is_list = true;
      return std::nullopt;
    case HitPolicy::kOutputOrder:
      sort_by_outputs(decision);
      decision.is_list = true;
      return std::nullopt;
    case HitPolicy::kCollect:
      decision.is_list = aggregation_ == Aggregation::kNone;
      return decision.is_list ? std::nullopt : aggregate(decision);
  }
  return std::nullopt;
}

Table::Failure Table::settle_any(Decision& decision) const {
  const auto first = decision.record(0);
  for (size_t i = 1; i < decision.records(); ++i) {
    if (!std::ranges::equal(first, decision.record(i))) {
      return failure(Kind::kDisagree,
                     "the rules disagree: more than one matches, their outputs "
                     "differ, and the hit policy is ANY");
    }
  }
  decision.values.resize(outputs_.size());
  return std::nullopt;
}

Table::Failure Table::aggregate(Decision& decision) const {
  const auto result = aggregated(aggregation_, decision.values);
  if (!result) {
    return failure(Kind::kAggregation, "no " + std::string(name_of(aggregation_)) +
                                           " of the outputs: one is no number, or the result has "
                                           "more than 34 digits");
  }
  decision.values.assign(1, *result);
  return std::nullopt;
}

// Compound outputs from left to right; columns without an order are passed over (8.2.10).
bool Table::ranks_before(std::span<const Value> a, std::span<const Value> b) const {
  for (size_t i = 0; i < outputs_.size(); ++i) {
    if (outputs_[i].order.empty()) continue;
    const size_t rank_a = rank(outputs_[i].order, a[i]);
    const size_t rank_b = rank(outputs_[i].order, b[i]);
    if (rank_a != rank_b) return rank_a < rank_b;
  }
  return false;
}

// Stable: of equal outputs the lower rule number stands first.
void Table::sort_by_outputs(Decision& decision) const {
  std::vector<size_t> order(decision.rules.size());
  std::iota(order.begin(), order.end(), size_t{0});
  std::ranges::stable_sort(order, [&](size_t a, size_t b) {
    return ranks_before(decision.record(a), decision.record(b));
  });
  std::vector<int> rules;
  std::vector<Value> values;
  for (const size_t i : order) {
    rules.push_back(decision.rules[i]);
    const auto record = decision.record(i);
    values.insert(values.end(), record.begin(), record.end());
  }
  decision.rules = std::move(rules);
  decision.values = std::move(values);
}

}  // namespace girdle::policy
