// The documents that a reader is vetted with, their options, and what must come of them.
//
// Beside a document NNN-name.EXTENSION may lie NNN-name.options.yaml (a map of the reader's
// options) and NNN-name.expected.json (what must come of it), as in the corpora of the readers that
// ship.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "base/result.h"
#include "reading/manifest.h"

namespace girdle::vet {

using Fields = std::vector<std::pair<std::string, std::string>>;

struct ExpectedAside {
  uint64_t offset = 0, length = 0, line = 0;
  std::string reason;  // a part of it
};

// {"records": [{"name": "value", …}, …], "asides": [{"offset", "length", "line", "reason"}, …]}
struct Expected {
  std::vector<Fields> records;
  std::vector<ExpectedAside> asides;
};

struct Sample {
  std::string name;  // its path inside the folder; where there are more, with the folder
  std::string bytes;
  reading::Options options;  // as given; without defaults
  std::optional<Expected> expected;
};

// All files in a folder and those below it, in the order of their names, but those whose names
// begin with a point or with README. `options` hold where a document has none of its own.
//
// Errors: no such folder, no document in one, a document above 64 MiB, options or expectations that
// cannot be read.
base::Result<std::vector<Sample>> load_samples(const std::vector<std::filesystem::path>& folders,
                                               const reading::Options& options);

}  // namespace girdle::vet
