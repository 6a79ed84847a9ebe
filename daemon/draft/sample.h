// What a draft is made from: a file as the instrument wrote it, or what came over a line.
#pragma once

#include <string>
#include <vector>

namespace girdle::draft {

struct Sample {
  std::string name;   // as the person called it
  std::string bytes;  // all of them
};

using Samples = std::vector<Sample>;

}  // namespace girdle::draft
