// What can be proved of the house's decision tables, for `girdled check`.
#pragma once

#include "config/problem.h"
#include "service/check.h"

namespace girdle::service {

struct PolicyProof {
  config::Problems faults;   // by the table's hit policy
  config::Problems notices;  // not wrong, and worth a look
};

// Of all tables of all policies that the configuration names; each at its rule, in the order of the files. Nothing of
// the built-in table, which its tests prove. May take seconds for a table of a thousand rules.
PolicyProof prove_policies(const Checked& checked);

}  // namespace girdle::service
