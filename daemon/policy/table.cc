#include "policy/table.h"

#include <algorithm>
#include <numeric>

#include "base/text.h"

namespace girdle::policy {
namespace {

using base::in_quotes;

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
  std::vector<Value> ordered(given());
  for (size_t i = 0; i < ordered.size(); ++i) {
    if (const auto found = facts.find(given_names_[i]); found != facts.end()) {
      ordered[i] = found->second;
    }
  }
  return ordered;
}

Decision Table::evaluate(const Facts& facts) const { return evaluate(in_order(facts)); }

Decision Table::evaluate(std::span<const Value> facts) const {
  if (computed_.empty()) return evaluate_all(facts);
  std::vector<Value> all;
  if (auto failed = complete(facts, all)) return refused(std::move(*failed));
  return evaluate_all(all);
}

Decision Table::refused(EvaluationError failed) const {
  Decision decision;
  decision.output_names = output_names_;
  decision.kind = Decision::Kind::kError;
  if (failed.rule > 0) decision.rules = {failed.rule};
  decision.error = std::move(failed);
  return decision;
}

Decision Table::evaluate_all(std::span<const Value> facts) const {
  Decision decision;
  decision.output_names = output_names_;
  auto failed = check_given(facts);
  if (!failed) failed = check_inputs(facts);
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
Table::Failure Table::check_given(std::span<const Value> facts) const {
  if (facts.size() < given()) {
    return failure(Kind::kCall, std::to_string(facts.size()) + " facts for a table of " +
                                    std::to_string(given()));
  }
  for (size_t i = 0; i < given(); ++i) {
    if (!fits(i, facts[i])) return type_error(i, facts[i]);
  }
  return std::nullopt;
}

EvaluationError Table::type_error(size_t fact, const Value& value) const {
  const std::optional<Type> type = fact_types_[fact];
  std::string form;
  if (is_temporal(*type)) form = ", written like " + std::string(example_of(*type));
  return failure(Kind::kWrongType,
                 in_quotes(fact_names_[fact]) + " is " + shown(value) + "; it should be a " +
                     std::string(type_name(*type)) + form,
                 fact_names_[fact]);
}

Table::Failure Table::check_inputs(std::span<const Value> facts) const {
  for (const InputColumn& column : inputs_) {
    if (auto failed = check_input(column, facts[column.fact])) return failed;
  }
  return std::nullopt;
}

// The facts that were handed over, and those that the inputs compute of them.
Table::Failure Table::complete(std::span<const Value> facts, std::vector<Value>& all) const {
  if (auto failed = check_given(facts)) return failed;
  all.reserve(fact_names_.size());
  all.assign(facts.begin(), facts.begin() + static_cast<std::ptrdiff_t>(given()));
  for (const Computed& computed : computed_) {
    const size_t place = all.size();
    all.emplace_back();
    if (!computed.is_input) continue;
    auto value = computed.expression.evaluate(all);
    if (!value) {
      return failure(
          Kind::kArithmetic,
          "the input " + in_quotes(fact_names_[place]) + " has no value: " + value.error().text,
          fact_names_[place]);
    }
    if (!fits(place, *value)) return type_error(place, *value);
    all[place] = std::move(*value);
  }
  return std::nullopt;
}

Table::Failure Table::check_input(const InputColumn& column, const Value& value) const {
  const std::string& name = fact_names_[column.fact];
  if (is_null(value)) {
    if (!column.required) return std::nullopt;
    return failure(Kind::kMissing, in_quotes(name) + " is missing, and the table requires it", name);
  }
  if (!column.has_allowed || column.allowed.evaluate(value, {}) == Truth::kTrue) {
    return std::nullopt;
  }
  return failure(Kind::kNotAllowed,
                 in_quotes(name) + " is " + shown(value) + ", outside its allowed values", name);
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
  Failure failed;
  const auto try_one = [&](size_t rule) { return try_rule(rule, facts, decision, failed); };
  if (index_.is_there()) {
    index_.each_candidate(facts, try_one);
    return failed;
  }
  for (size_t i = 0; i < rules_.size(); ++i) {
    if (!try_one(i)) break;
  }
  return failed;
}

bool Table::try_rule(size_t rule, std::span<const Value> facts, Decision& decision,
                     Failure& failed) const {
  const Truth result = result_of(rules_[rule], facts);
  if (result == Truth::kMismatch) failed = cell_error(rule, facts);
  if (result != Truth::kTrue) return result != Truth::kMismatch;
  failed = append_record(rule, facts, decision);
  return !failed && hit_policy_ != HitPolicy::kFirst;
}

Table::Failure Table::append_record(size_t rule, std::span<const Value> facts,
                                    Decision& decision) const {
  const std::vector<Operand>& then = rules_[rule].then;
  decision.rules.push_back(static_cast<int>(rule) + 1);
  decision.values.reserve(decision.values.size() + then.size());
  for (size_t i = 0; i < then.size(); ++i) {
    // Literals were checked when the table was read.
    if (!then[i].is_name()) {
      decision.values.push_back(then[i].literal);
    } else if (auto failed = append_output(rule, i, facts, decision)) {
      return failed;
    }
  }
  return std::nullopt;
}

Table::Failure Table::append_output(size_t rule, size_t column, std::span<const Value> facts,
                                    Decision& decision) const {
  const Operand& cell = rules_[rule].then[column];
  auto value = output_of(cell, facts);
  if (!value) {
    return output_error(
        rule, column,
        failure(Kind::kArithmetic, rule_label(rule) + ": the output " + in_quotes(source_of(cell)) +
                                       " has no value: " + value.error().text));
  }
  if (auto failed = check_output(rule, column, *value)) return failed;
  decision.values.push_back(std::move(*value));
  return std::nullopt;
}

// Of a fact that is missing a name gives null, as the standard has it; a calculation has no value.
base::Result<Value> Table::output_of(const Operand& cell, std::span<const Value> facts) const {
  if (!is_computed(cell.fact)) return cell.value(facts);
  const Expression& expression = computed_[static_cast<size_t>(cell.fact) - given()].expression;
  if (const int32_t missing = expression.missing(facts); missing >= 0) {
    return base::input_error(in_quotes(fact_names_[static_cast<size_t>(missing)]) + " is missing");
  }
  return expression.evaluate(facts);
}

EvaluationError Table::output_error(size_t rule, size_t column, EvaluationError failed) const {
  failed.fact = source_of(rules_[rule].then[column]);
  failed.rule = static_cast<int>(rule) + 1;
  failed.column = static_cast<int>(column) + 1;
  return failed;
}

Table::Failure Table::check_output(size_t rule, size_t column, const Value& value) const {
  const OutputColumn& output = outputs_[column];
  const bool fits = !output.type || is_null(value) || has_type(value, *output.type);
  const bool allowed =
      !output.has_allowed || is_null(value) || output.allowed.evaluate(value, {}) == Truth::kTrue;
  if (fits && allowed) return std::nullopt;
  return output_error(
      rule, column,
      failure(Kind::kOutput,
              rule_label(rule) + ": the output takes " + shown(value) + " from " +
                  in_quotes(source_of(rules_[rule].then[column])) +
                  (fits ? ", which is outside the output's allowed values"
                        : ", and it should be a " + std::string(type_name(*output.type)))));
}

// Only for a rule that has such a cell.
EvaluationError Table::cell_error(size_t rule, std::span<const Value> facts) const {
  const auto cell = std::ranges::find_if(rules_[rule].cells, [&](const Cell& candidate) {
    return candidate.test.evaluate(facts[candidate.fact], facts) == Truth::kMismatch;
  });
  auto failed = failure(Kind::kCell,
                        rule_label(rule) + ": " + in_quotes(fact_names_[cell->fact]) + " is " +
                            shown(facts[cell->fact]) + ", which cannot be compared with the cell " +
                            in_quotes(cell->text),
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
