// Same, repeat, or new: which records tell of one measurement, whose it is, and which cases follow.
//
// Everything here is a function of the set of records and their times; the order in which they came never matters
// (promise 3). Where two records tie in every time that they give, their content decides, so that any machine decides
// alike. Pure: no I/O, no clock.
#pragma once

#include <compare>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/clock.h"
#include "model/record.h"

namespace girdle::casework {

// A reading as the ledger knows it: the first of its duplicates, with the earliest of their times.
struct Known {
  int64_t id = 0;           // handle
  std::vector<int64_t> intakes;  // every intake that brought it; ascending
  base::Instant came_at{};  // the document's own time (model::Document::came_at)
  uint64_t offset = 0;      // its place in that document
  int64_t content = 0;      // digest of its content
  model::Reading reading;
};

// Corrections: among records of one instrument and one run, the newer counts. Newer is the later measured_at; where
// that is the same, the document that came later; then the later place in it; then the content.
std::strong_ordering by_age(const Known& a, const Known& b);

// True when no field that both give differs (the times aside). A default is not given.
bool agree(const model::Reading& a, const model::Reading& b);

// What the first lacks is taken from the second; measured_at is the earlier; defaults are left out. Only for two that
// agree().
model::Reading joined(const model::Reading& a, const model::Reading& b);

struct Pair {
  size_t first, second;  // indexes into the records given
};

// The same measurement by two routes: records of one instrument (no superseded ones), closer in time than `cycle`, that
// agree, from different intakes. An intake that brought both tells of two measurements. Each is matched at most once,
// nearest first.
std::vector<Pair> pair_routes(std::span<const Known> records, base::Millis cycle);

// The bench's last scan at or before `measured_at`, no older than `fresh`: index into `scans`, which are of one bench, in
// any order. Nothing when there is none, or when the last are two of the same moment for different subjects.
std::optional<size_t> binding_scan(std::span<const model::Scan> scans, base::Instant measured_at, base::Millis fresh);

// The cases of a subject: the longest runs of its measurements with no gap above `reopen_after`. Takes times in
// ascending order; gives the index at which each run starts.
std::vector<size_t> case_starts(std::span<const base::Instant> times, base::Millis reopen_after);

// A declaration, each time that it was made.
struct Claim {
  base::Instant time{};  // declared_at, or when its list came
  int64_t list = 0;      // tells lists of one time apart: the first eight bytes of its document's digest
  uint64_t offset = 0;   // in its list; of two in one list the later counts
  int64_t content = 0;
};

// The claim in force for a case whose last measurement is at `last`: the newest made no later than last + reopen_after;
// where there is none, the oldest. Nothing when there are no claims.
std::optional<size_t> claim_in_force(std::span<const Claim> claims, base::Instant last, base::Millis reopen_after);

}  // namespace girdle::casework
