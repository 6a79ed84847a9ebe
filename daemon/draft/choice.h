// The proposal that holds: each is tried with its reader, and counts when the reader takes the
// whole of the samples and sets nothing aside.
//
// Loads readers; blocks while they read. One thread.
#pragma once

#include <string>
#include <vector>

#include "base/result.h"
#include "draft/proposal.h"
#include "draft/trial.h"
#include "reading/manifest.h"

namespace girdle::draft {

struct Chosen {
  Proposal proposal;
  Trial trial;
  std::vector<std::string> remarks;  // what else was tried, and what came of it
};

// `reader`: only this one; empty: all. `isolation`: it is tried in a process of its own. The error
// says what was tried, where no reader finds a record.
base::Result<Chosen> choose(const reading::Catalogue& catalogue, const Look& look,
                            const std::string& reader,
                            const std::optional<reading::Isolation>& isolation = {});

// The options as they are tried: of an open one the likeliest.
reading::Options tried_options(const Proposal& proposal);

// "counter-1.csv, line 17: 3 fields where there are 4 columns"
std::string shown(const RawAside& aside, const Samples& samples);

}  // namespace girdle::draft
