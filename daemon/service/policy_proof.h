// What can be proved of a policy's own decision tables, and what looks like a slip.
#pragma once

#include "casework/house.h"
#include "config/problem.h"
#include "config/settings.h"

namespace girdle::service {

// Each at its rule: what the table's hit policy does not allow in `faults`; in `notices` what is
// not wrong, and worth a look. Nothing of the built-in table, which its tests prove. May take a
// second for a table of a thousand rules.
void prove_policy(const config::Policy& policy, const casework::House& house,
                  config::Problems& faults, config::Problems& notices);

}  // namespace girdle::service
