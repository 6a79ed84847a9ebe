// What would change the answer: asked of the policy itself, with facts that are one step away.
// Pure.
#pragma once

#include <string>
#include <vector>

#include "casework/house.h"
#include "model/outcome.h"

namespace girdle::casework {

struct WhatIf {
  // "one more natural reading", "a reading that says anything else", …
  std::string step;
  model::Disposition disposition = model::Disposition::kHold;  // then
  std::string reason;                                          // its code
  // In plain words: "With one more natural reading, it is released."
  std::string text() const;
};

// Steps after which the policy would answer otherwise than it does now; none where no single one
// does. More readings of the finding at hand (at most kMostMoreReadings), else one of it by another
// instrument, a reading of another
// finding, the instrument's scope known, the stone declared as what it was found to be.
std::vector<WhatIf> what_would_change(const model::Evidence& evidence, const House& house);

inline constexpr int kMostMoreReadings = 10;

}  // namespace girdle::casework
