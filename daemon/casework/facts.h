// The facts that the house's tables may use: what each is, and its value in a case. README.md has
// them as a page.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "model/evidence.h"
#include "model/outcome.h"
#include "policy/proof.h"
#include "policy/value.h"

namespace girdle::casework {

struct Fact {
  std::string_view name;
  policy::Type type;
  std::string_view values;  // unary tests over literals; empty = any
  std::string_view unit;    // empty: a word, or a bare number
  std::string_view meaning;
  std::string_view
      unknown_when;  // empty: never; else it is then null, which satisfies only `-` and `null`
  bool is_whole = false;
};

// What a table may ask about. Each set begins with the one before it.
enum class FactSet : uint8_t {
  kStone,     // what was declared and is known: the table of required runs
  kEvidence,  // and what was measured: the disposition table
  kAnswer,    // and what was decided: the routing table
};

std::span<const Fact> facts_of(FactSet set);
// Of the same: by name; for compiling a table; for proofs.
std::vector<std::string_view> fact_names(FactSet set);
std::vector<policy::KnownFact> known_facts(FactSet set);
std::vector<policy::ProofFact> proof_facts(FactSet set);
// A fact's place in facts_of(kAnswer); nothing for a name that is none.
std::optional<size_t> place_of(std::string_view name);

// The house's settings that are facts.
struct Settings {
  bool accept_unknown_scope = false;
};

// What the answer adds for the routing table.
struct Answer {
  model::Disposition disposition;
  std::string_view reason;
  std::optional<model::Disposition> previous;
};

// `answer` may be null where the place is none of kAnswer's own.
policy::Value value_at(size_t place, const model::Evidence& evidence, Settings settings,
                       const Answer* answer);

// Sets the fact in a case, from a text as a person writes it ("1500", "laboratory_grown", "true").
// Errors say what would be right. Facts that follow from others cannot be set.
base::Result<void> set_fact(std::string_view name, std::string_view text,
                            model::Evidence& evidence);

}  // namespace girdle::casework
