// The corpus of a reader: documents, their options and what must come of them. A new case needs no
// C++.
#pragma once

#include <string>
#include <vector>

#include "plugins/test_host.h"

namespace girdle::plugins_test {

struct Case {
  std::string name;
  std::string bytes;
  Options options;
  std::vector<std::vector<std::pair<std::string, std::string>>> records;
  std::vector<Aside> asides;  // with a part of the reason
};

// NNN-name.EXTENSION with NNN-name.expected.json and perhaps NNN-name.options.yaml, in
// tests/corpus/FOLDER.
std::vector<Case> corpus(const std::string& folder, const std::string& extension);

std::string file_bytes(const std::string& path);

}  // namespace girdle::plugins_test
