// From the configuration to the rules that casework uses.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "casework/house.h"
#include "casework/house_spec.h"
#include "config/problem.h"
#include "config/settings.h"

namespace girdle::service {

// A policy with the instruments of a configuration, compiled.
struct Rules {
  std::shared_ptr<const casework::House> house;
  std::string text;  // by whose digest the house goes
  // For the ledger: from when, who lets it come into force, and why; as the policy says it.
  std::optional<base::Instant> valid_from;
  std::string approved_by, why;
};

// A problem of a unary test or a table's cell, at its place in the configuration.
using RuleProblem = config::Problem;

// Nothing when anything is wrong, or when a table of the policy is not whole; all that is wrong
// with cells, limits and examples is told in `problems`. `policy` is one of `settings`, or another
// in its place.
//
// With `notices` its tables are proved too (policy_proof.h): what they may not have is told in
// `problems`, what is worth a look in `notices`. Without, nothing is proved: for who only shows
// what was decided.
std::optional<Rules> build_rules(const config::Settings& settings, const config::Policy& policy,
                                 std::vector<RuleProblem>& problems,
                                 std::vector<RuleProblem>* notices = nullptr);

// The table as text cells, for whoever compiles it.
policy::TableSpec table_spec(const config::DecisionTable& table);

// Adds what compiling a table found, but for what is said of the stand-ins of one that is not
// whole.
void tell(const config::DecisionTable& table, const std::vector<policy::Problem>& found,
          std::vector<RuleProblem>& problems);

}  // namespace girdle::service
