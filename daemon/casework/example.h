// An example in a policy: facts, and what the house must say of them. Pure.
#pragma once

#include <string>
#include <vector>

#include "casework/house_spec.h"

namespace girdle::casework {

struct ExampleFault {
  policy::Mark mark;  // of the fact or the expectation
  std::string text;   // what it says, and what comes out
};

// Nothing where all comes out as the example says. Facts that are left out are as of a case without
// readings, `required` as the house asks of such a stone.
std::vector<ExampleFault> try_example(const HouseSpec::Example& example, const House& house);

}  // namespace girdle::casework
