// What can be proved of the house's disposition table, for `girdled check`.
#pragma once

#include <vector>

#include "config/problem.h"
#include "config/settings.h"
#include "policy/table.h"

namespace girdle::service {

struct PolicyProof {
  config::Problems faults;   // by the table's hit policy
  config::Problems notices;  // not wrong, and worth a look
};

// Each at its rule, in the order of the file. Empty for the built-in table, which its tests prove. May take seconds for a
// table of a thousand rules.
PolicyProof prove_policy(const config::Settings& settings, const policy::Table& table);

}  // namespace girdle::service
