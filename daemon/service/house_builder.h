// From the configuration to the rules that casework uses.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "base/result.h"
#include "casework/house.h"
#include "config/settings.h"

namespace girdle::service {

struct BuiltHouse {
  std::shared_ptr<const casework::House> house;
  std::string rules;  // the canonical text of policy and instruments, by whose digest the house goes
};

// A problem of a unary test or a table's cell, at its place in the configuration.
struct RuleProblem {
  std::string file;
  model::Mark mark;
  std::string text;
};

// Nothing, with `problems` filled, when anything is wrong; all of it is told.
std::optional<BuiltHouse> build_house(const config::Settings& settings, std::vector<RuleProblem>& problems);

// The table as text cells, for whoever compiles it.
policy::TableSpec table_spec(const config::DecisionTable& table);

}  // namespace girdle::service
