#include "casework/what_if.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "casework/decide.h"
#include "casework/default_house.h"
#include "casework/weigh.h"

namespace girdle::casework {
namespace {

using model::Evidence;
using model::Finding;
using testing::ElementsAre;
using testing::IsEmpty;

Evidence evidence(Evidence::Common finding, int valid, model::Scope scope = model::Scope::kIn) {
  Evidence e;
  e.scope = scope;
  if (finding == Evidence::Common::kMixed) {
    e.said = {{Finding::kNatural, "A-0117", 1}, {Finding::kSimulant, "B-0042", 1}};
  } else if (finding != Evidence::Common::kNone && valid > 0) {
    e.said = {{static_cast<Finding>(finding), "A-0117", valid}};
  }
  complete(e, default_house());
  return e;
}

std::vector<std::string> texts(const Evidence& e, const House& house = default_house()) {
  std::vector<std::string> texts;
  for (const WhatIf& step : what_would_change(e, house)) texts.push_back(step.text());
  return texts;
}

TEST(WhatIf, CountsTheReadingsThatAreMissing) {
  EXPECT_THAT(texts(evidence(Evidence::Common::kNatural, 1)),
              ElementsAre("With one more natural reading, it is released.",
                          "With a reading that says anything else, it goes to a laboratory."));
  EXPECT_THAT(texts(evidence(Evidence::Common::kNone, 0))[0], "With 2 more natural readings, it is released.");
}

TEST(WhatIf, KnowsWhatAnUnknownScopeHolds) {
  EXPECT_THAT(texts(evidence(Evidence::Common::kNatural, 2, model::Scope::kUnknown)),
              ElementsAre("With a reading that says anything else, it goes to a laboratory.",
                          "With a carat or colour inside the instrument's scope, it is released."));
}

TEST(WhatIf, KnowsWhatADeclarationWouldChange) {
  EXPECT_THAT(texts(evidence(Evidence::Common::kSimulant, 2)),
              ElementsAre("With a reading that says anything else, it goes to a laboratory.",
                          "With a declaration as simulant, it is released."));
}

TEST(WhatIf, HasNothingToSayWhereNoStepHelps) {
  EXPECT_THAT(texts(evidence(Evidence::Common::kMixed, 2)), IsEmpty());
}

// Computed from the policy, not written beside it: with another number of runs it says so.
TEST(WhatIf, FollowsTheHousesOwnPolicy) {
  HouseSpec spec;
  spec.required = 5;
  const House house = house_of(spec);
  Evidence e = evidence(Evidence::Common::kNatural, 1);
  complete(e, house);
  EXPECT_EQ(texts(e, house)[0], "With 4 more natural readings, it is released.");
}

// Whatever the evidence: each step is told because it leads elsewhere.
TEST(WhatIf, TellsOnlyStepsThatChangeTheAnswer) {
  const House house = default_house();
  for (int finding = 0; finding < 8; ++finding) {
    for (int valid = 0; valid < 4; ++valid) {
      for (int scope = 0; scope < 3; ++scope) {
        for (int declared = -1; declared < 5; ++declared) {
          Evidence e = evidence(static_cast<Evidence::Common>(finding), valid, static_cast<model::Scope>(scope));
          if (declared >= 0) e.declared = static_cast<Finding>(declared);
          for (const WhatIf& step : what_would_change(e, house)) {
            EXPECT_NE(step.disposition, decide(e, house).disposition) << step.text();
          }
        }
      }
    }
  }
}

}  // namespace
}  // namespace girdle::casework
