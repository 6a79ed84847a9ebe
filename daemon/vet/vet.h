// Vetting a reader: all that is wrong with it, found before a shop does.
//
// Everything that calls the reader runs in processes of their own, so that a reader which crashes,
// hangs or floods costs its check and no more.
#pragma once

#include <chrono>
#include <filesystem>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "reading/manifest.h"
#include "vet/report.h"

namespace girdle::vet {

struct Candidate {
  std::filesystem::path manifest;
  std::vector<std::filesystem::path> samples;  // folders
  reading::Options options;                    // of samples that have none of their own
};

struct Effort {
  std::chrono::milliseconds time{5000};   // at most, for each check
  std::chrono::milliseconds call{10000};  // of processor time, for one call of the reader
  std::vector<std::string> only;          // names of checks; empty: all
  std::filesystem::path keep;  // a folder for changed samples that show a fault; empty: not kept
};

// Of all checks, in their order.
std::vector<std::string_view> check_names();

// The caller has one thread. `told` hears of each check when it is done. Errors: samples that
// cannot be read, options that the manifest does not have, no process to run checks in.
base::Result<Report> vet(const Candidate& candidate, const Effort& effort,
                         const std::function<void(const Check&)>& told);

}  // namespace girdle::vet
