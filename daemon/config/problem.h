// What is wrong in a configuration, where, and what would be right.
#pragma once

#include <string>
#include <vector>

#include "model/mapping.h"

namespace girdle::config {

struct Problem {
  std::string file;
  model::Mark mark;  // 1-based; a line of 0 means the file as a whole
  std::string text;
};
using Problems = std::vector<Problem>;

// "file:line:column: text", and "file: text" for the file as a whole.
std::string format(const Problem& problem);

}  // namespace girdle::config
