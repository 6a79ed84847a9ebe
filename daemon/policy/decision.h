// What a decision table says of some facts: decided, no rule, or could not be evaluated. The third
// is never the second: whoever acts on it sends it to a person.
//
// Plain values, no ties to the table that made them but the shared list of the outputs' names; any
// thread.
#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "policy/value.h"

namespace girdle::policy {

struct EvaluationError {
  enum class Kind : uint8_t {
    kMissing,     // a required fact is null
    kWrongType,   // a fact is of another type than its column
    kNotAllowed,  // a fact is outside its column's allowed values
    kCell,        // a cell compares kinds that do not compare
    kOverlap,     // UNIQUE: more than one rule matches
    kDisagree,    // ANY: the rules that match say different things
    kOutput,      // an output that names or computes a value has a wrong type or is not allowed
    kArithmetic,  // an expression has no value: out of range, divided by zero, of kinds that do not
                  // go together
    kAggregation,  // COLLECT: the outputs cannot be added up or compared
    kCall,         // fewer facts were handed over than the table has
  };
  Kind kind = Kind::kCell;
  std::string text;  // for a shop's administrator; names the fact and the cell
  std::string fact;  // whose value is at fault; empty where none is
  int rule = 0;      // 1-based; the cell that could not be evaluated. 0 = no cell
  int column = 0;    // 1-based, among the inputs (kCell) or the outputs (kOutput)
};

// "missing", "wrong_type", …: the same words in JSON.
std::string_view name_of(EvaluationError::Kind kind);

struct Decision {
  enum class Kind : uint8_t { kDecided, kNoRule, kError };

  Kind kind = Kind::kNoRule;
  // The hit policy gives a list: RULE ORDER, OUTPUT ORDER, COLLECT without aggregation, when a rule
  // matched.
  bool is_list = false;
  // 1-based. Single-hit policies: the rule that decided (ANY: all that matched). Lists: of each
  // record, in the records' order. Aggregations: all that went in. Errors: the rules concerned.
  // Empty where the default output was used.
  std::vector<int> rules;
  // Record after record, each as long as names(); empty unless kDecided.
  std::vector<Value> values;
  std::shared_ptr<const std::vector<std::string>> output_names;
  EvaluationError error;  // kError only

  const std::vector<std::string>& names() const { return *output_names; }
  size_t records() const { return values.size() / output_names->size(); }
  std::span<const Value> record(size_t index) const {
    return std::span(values).subspan(index * output_names->size(), output_names->size());
  }
  // The first record's output of that name; nullptr where there is none. Lives as long as this
  // decision.
  const Value* output(std::string_view name) const;
};

// {"outputs":{…},"rules":[2]}; "outputs":null for no rule; a list of such for hit policies that
// give a list, one for each record; {"error":{"kind":"…","rules":[…],"text":"…"}}. An output
// without a name is written as its bare value.
void write_json(base::JsonWriter& json, const Decision& decision);
std::string to_json(const Decision& decision);

}  // namespace girdle::policy
