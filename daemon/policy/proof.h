// What can be proved of a decision table without trying facts: rules that overlap, rules that can
// never decide, cells that nothing allowed can meet, and facts that no rule covers; each with an
// example. By a sweep over the table's dimensions, not by sampling (the idea: Calvanese et al.,
// Information Systems 78 (2018) 112, 4.2 and 4.3), and by a search that decides soon whether
// anything is left.
//
// Exact for cells of literals and for cells that name other facts: each fact takes the values that
// the table tells apart, and between them as many as facts are compared with each other. Numbers,
// texts, times and durations are taken as dense: between two of them there is a third; dates and
// durations of months are not. An input that is calculated is taken for a fact of its own.
//
// Pure; any thread. Time is bounded by the limits: what was not decided within them is said.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "policy/table.h"

namespace girdle::policy {

struct ProofNote {
  enum class Kind : uint8_t {
    kOverlap,     // two rules match the same facts, and the hit policy does not allow it
    kMasked,      // a rule that matches, and can never decide: stronger ones always do
    kNeverMet,    // a rule that no allowed facts can match
    kCellPart,    // a part of a cell that no allowed value can meet
    kGap,         // facts that no rule matches, and there is no default
    kNotDecided,  // the limits were reached first
  };
  Kind kind = Kind::kGap;
  bool is_error = false;        // by the table's hit policy; else something to look at
  std::vector<int> rules = {};  // 1-based, ascending
  int column = 0;               // 1-based, of kCellPart
  std::string text = {};        // for whoever writes policies
  std::string region = {};      // where: "income [500..1000], loan [250..750]"; empty = everywhere
  Facts example = {};           // of kOverlap, kMasked (the rule's facts), kGap; missing facts are left out
};

// "overlap", "masked", "never_met", "cell_part", "gap", "not_decided".
std::string_view name_of(ProofNote::Kind kind);

struct ProofLimits {
  uint64_t steps = 20'000'000;  // of the sweep and the search, of all questions together
  size_t combinations = 200'000;  // of facts that are compared with each other
  size_t notes = 20;              // of each kind; the last says how many more there are
};

// What whoever hands the facts over knows of one, besides what the table says.
struct ProofFact {
  std::string_view name;
  bool is_always_known = false;
  bool is_whole = false;                 // numbers without a fraction
  std::string_view allowed_values = {};  // unary tests over literals; empty = all
};

// In the order of the kinds above, and then of the rules.
std::vector<ProofNote> prove(const Table& table, const ProofLimits& limits = {}, std::span<const ProofFact> facts = {});

}  // namespace girdle::policy
