// From the configuration to the rules that casework uses.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "base/result.h"
#include "casework/house.h"
#include "config/problem.h"
#include "config/settings.h"

namespace girdle::service {

struct BuiltHouse {
  std::shared_ptr<const casework::House> house;
  std::string rules;  // the canonical text of policy and instruments, by whose digest the house goes
};

// A problem of a unary test or a table's cell, at its place in the configuration.
using RuleProblem = config::Problem;

// Nothing when anything is wrong, or when the policy's table is not whole; all that is wrong with cells and limits is
// told in `problems`.
std::optional<BuiltHouse> build_house(const config::Settings& settings, std::vector<RuleProblem>& problems);

// The table as text cells, for whoever compiles it.
policy::TableSpec table_spec(const config::DecisionTable& table);

// Adds what compiling a table found, but for what is said of the stand-ins of one that is not whole.
void tell(const config::DecisionTable& table, const std::vector<policy::Problem>& found,
          std::vector<RuleProblem>& problems);

}  // namespace girdle::service
