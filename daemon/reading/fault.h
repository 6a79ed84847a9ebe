// What is wrong with a mapping, for whoever compiles it.
#pragma once

#include <string>
#include <vector>

#include "model/mapping.h"

namespace girdle::reading {

struct Fault {
  model::Mark mark;  // line 0: of the mapping as a whole, in which something is missing
  std::string text;  // what is wrong, what would be right
};
using Faults = std::vector<Fault>;

}  // namespace girdle::reading
