// A decision table, read and checked, ready to be evaluated: DMN 1.5 clauses 8.2 and 10.3.2.10.
// README.md has the notation and the choices where the standard's texts disagree.
//
// Evaluation is pure and total: the same facts give the same decision, whatever they are. A table
// is immutable and may be evaluated on any number of threads at once.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "policy/decision.h"
#include "policy/expression.h"
#include "policy/hit_policy.h"
#include "policy/rule_index.h"
#include "policy/table_spec.h"
#include "policy/unary_test.h"
#include "policy/value.h"

namespace girdle::policy {

// Facts by name; one that is left out is missing, one that the table does not ask for is passed
// over.
using Facts = std::map<std::string, Value, std::less<>>;

// A fact that whoever asks the table can supply.
struct KnownFact {
  std::string_view name;
  std::optional<Type> type = std::nullopt;  // nothing: any
  bool is_always_known = false;             // never null
};

// How one rule fared, and the first cell that was not satisfied; where the rule matched there is
// none.
struct RuleTrace {
  int rule = 0;  // 1-based
  Truth result = Truth::kFalse;
  int failing = 0;        // cells not satisfied; 1 = a near miss
  int column = 0;         // of the first such cell, 1-based
  std::string fact = {};  // the column's fact, its value, the cell's text
  Value value = {};
  std::string cell = {};
};

struct Explanation {
  Decision decision;
  std::vector<RuleTrace> rules;
};

// {"decision":…,"rules":[{"rule":1,"result":"matched"},{"rule":2,"result":"not_matched","column":2,
// "fact":"…","value":…,"cell":"…","failing":1}]}; results are matched, not_matched, unknown (a fact
// is missing) and not_comparable.
void write_json(base::JsonWriter& json, const Explanation& explanation);

class Table {
 public:
  // All that is wrong with it, in the order of the file, or the table. With `known`, a fact that is
  // not among them is wrong too; without, every name is taken to be a fact.
  static std::variant<Table, std::vector<Problem>> compile(const TableSpec& spec,
                                                           std::span<const KnownFact> known = {});

  // Every fact that the table may consult, as input or by name inside a cell; their order is that
  // of evaluate().
  const std::vector<std::string>& fact_names() const { return given_names_; }
  // Of the same order: the type that a fact must have, where the table says so.
  const std::vector<std::optional<Type>>& fact_types() const { return given_types_; }
  // Not wrong, but a trap: see README.md.
  const std::vector<Problem>& warnings() const { return warnings_; }
  const std::vector<std::string>& output_names() const { return *output_names_; }
  HitPolicy hit_policy() const { return hit_policy_; }
  size_t rules() const { return rules_.size(); }
  // Of a 1-based rule; empty for any other number.
  std::string_view note(int rule) const;

  // Facts in the order of fact_names(); null = missing.
  Decision evaluate(std::span<const Value> facts) const;
  Decision evaluate(const Facts& facts) const;

  Explanation explain(std::span<const Value> facts) const;
  Explanation explain(const Facts& facts) const;

 private:
  friend class TableCompiler;
  friend class TableProof;

  struct InputColumn {
    size_t fact = 0;
    std::optional<Type> type;
    UnaryTest allowed;
    bool has_allowed = false;
    bool required = false;
  };
  struct OutputColumn {
    std::optional<Type> type;
    UnaryTest allowed;
    bool has_allowed = false;
    std::vector<Value> order;  // best first; empty = does not rank
  };
  struct Cell {
    size_t column = 0;
    size_t fact = 0;
    UnaryTest test;
    std::string text;
  };
  struct Rule {
    std::vector<Cell> cells;  // without those that accept anything
    std::vector<Operand> then;
    std::string note;
  };

  // What an expression gives counts as one more fact, behind those that are handed over: of an
  // input it is calculated before any rule is tried, of an output cell when its rule matches.
  struct Computed {
    Expression expression;
    bool is_input = false;
    size_t column = 0;
  };

  Table() = default;
  std::vector<Value> in_order(const Facts& facts) const;

  // Each of these gives nothing, or why there is no decision.
  using Failure = std::optional<EvaluationError>;
  Failure check_given(std::span<const Value> facts) const;
  bool fits(size_t fact, const Value& value) const {
    const std::optional<Type> type = fact_types_[fact];
    return !type || is_null(value) || has_type(value, *type);
  }
  EvaluationError type_error(size_t fact, const Value& value) const;
  Failure check_inputs(std::span<const Value> facts) const;
  Failure complete(std::span<const Value> facts, std::vector<Value>& all) const;
  Failure check_input(const InputColumn& column, const Value& value) const;
  Failure find_rules(std::span<const Value> facts, Decision& decision) const;
  // False when no further rule is to be tried; then `failed` says why, or the hit policy has enough.
  bool try_rule(size_t rule, std::span<const Value> facts, Decision& decision, Failure& failed) const;
  Failure append_record(size_t rule, std::span<const Value> facts, Decision& decision) const;
  Failure append_output(size_t rule, size_t column, std::span<const Value> facts,
                        Decision& decision) const;
  base::Result<Value> output_of(const Operand& cell, std::span<const Value> facts) const;
  EvaluationError output_error(size_t rule, size_t column, EvaluationError failed) const;
  Failure check_output(size_t rule, size_t column, const Value& value) const;
  Failure settle(Decision& decision) const;
  Failure settle_any(Decision& decision) const;
  Failure aggregate(Decision& decision) const;

  // With the facts that are computed, if there are such.
  Decision evaluate_all(std::span<const Value> facts) const;
  Decision refused(EvaluationError failed) const;
  std::string_view source_of(const Operand& cell) const {
    return fact_names_[static_cast<size_t>(cell.fact)];
  }
  size_t given() const { return given_names_.size(); }
  // Whether an operand's fact is computed.
  bool is_computed(int32_t fact) const { return fact >= static_cast<int32_t>(given()); }

  Truth result_of(const Rule& rule, std::span<const Value> facts) const;
  RuleTrace trace_of(size_t rule, std::span<const Value> facts) const;
  EvaluationError cell_error(size_t rule, std::span<const Value> facts) const;
  void sort_by_outputs(Decision& decision) const;
  bool ranks_before(std::span<const Value> a, std::span<const Value> b) const;

  HitPolicy hit_policy_ = HitPolicy::kUnique;
  Aggregation aggregation_ = Aggregation::kNone;
  std::vector<std::string> given_names_;
  std::vector<std::optional<Type>> given_types_;
  // The same, and behind them those that are computed, by the text of their expression.
  std::vector<std::string> fact_names_;
  std::vector<std::optional<Type>> fact_types_;
  std::vector<Computed> computed_;
  std::vector<InputColumn> inputs_;
  std::vector<OutputColumn> outputs_;
  std::vector<Rule> rules_;
  RuleIndex index_;
  std::vector<Value> defaults_;  // as long as outputs_, or empty
  std::shared_ptr<const std::vector<std::string>> output_names_;
  std::vector<Problem> warnings_;
};

}  // namespace girdle::policy
