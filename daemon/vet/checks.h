// The checks: each runs in a process of its own, where what the reader does cannot hurt.
//
// A document of one sample at a time, but for those that need none.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "reading/manifest.h"
#include "vet/loaded.h"
#include "vet/report.h"
#include "vet/sample.h"
#include "vet/session.h"
#include "vet/trial.h"

namespace girdle::vet {

// What a check is given.
struct Bench {
  Trial& trial;
  const reading::Manifest& manifest;
  const Loaded& loaded;                // but for the first three: the descriptor is there
  const reading::Options& options;     // for whom none are given, with the defaults
  const std::vector<Sample>& samples;  // all, with the defaults among their options
  size_t index = 0;                    // of the sample at hand

  const Sample& sample() const { return samples[index]; }
  // With the sample's options and girdled's limits.
  Terms terms() const;
  // trial.at: the sample's name and what is done with it.
  void at(std::string_view how) const { trial.at(sample().name + ", " + std::string(how)); }
};

// In this process: nothing of the reader is loaded. Nothing is left to do without a manifest.
std::optional<reading::Manifest> check_manifest(const std::filesystem::path& file, Check& check);

void check_library(const Bench& bench);
void check_negotiation(const Bench& bench);
void check_descriptor(const Bench& bench);
void check_options(const Bench& bench);

void check_records(const Bench& bench);
void check_values(const Bench& bench);
void check_cuts(const Bench& bench);
void check_resume(const Bench& bench);
void check_repeat(const Bench& bench);
void check_stop(const Bench& bench);
void check_limits(const Bench& bench);
void check_bounds(const Bench& bench);
void check_states(const Bench& bench);
void check_mutations(const Bench& bench);
void check_outside(const Bench& bench);
void check_leaks(const Bench& bench);
void check_cost(const Bench& bench);

}  // namespace girdle::vet
