// From evidence to a decision, by the house's tables. Pure.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "casework/house.h"
#include "model/outcome.h"

namespace girdle::casework {

inline constexpr int kMostRequired = 100;

// Runs that the house asks of a stone, from what is known of it besides its readings: 1 to
// kMostRequired. 0 where its table cannot tell: then decide() holds the stone for a person.
int required_runs(const model::Evidence& evidence, const House& house);

// Never releases on doubt: a table that has no rule for the evidence, or cannot be evaluated, gives
// `hold`.
model::Decision decide(model::Evidence evidence, const House& house);

// Who hears of a decision, ascending, each once; nothing: every outlet, as the house has no routing
// table or it cannot be evaluated.
std::optional<std::vector<std::string>> outlets_for(const model::Decision& decision,
                                                    std::optional<model::Disposition> previous,
                                                    const House& house);

}  // namespace girdle::casework
