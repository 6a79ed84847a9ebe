// Where the samples came from, as far as the intake needs to know it.
#pragma once

#include <string>
#include <vector>

#include "draft/open_point.h"

namespace girdle::draft {

struct Source {
  enum class Kind { kFolder, kSerial, kTcp } kind = Kind::kFolder;
  std::vector<Setting> settings;  // the keys of folder, serial or tcp, but for `frame`
  std::vector<Setting> frame;     // of a line; empty: lines
  std::vector<std::string> evidence;
};

}  // namespace girdle::draft
