// From evidence to a decision, by the house's disposition table. Pure.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "casework/house.h"
#include "model/outcome.h"
#include "policy/proof.h"

namespace girdle::casework {

// The facts that a disposition table may use, in the order of their slots.
const std::vector<std::string>& fact_names();

// What is known of them: for proofs.
std::span<const policy::ProofFact> proof_facts();

// The default policy's table (common practice, no source: two or three runs a stone; a metal seat can read as a
// simulant).
policy::TableSpec default_table();

// A disposition table: the default, or a house's own. It needs the outputs `disposition`, whose cells are words of
// ours, and `reason`; and no fact but those of fact_names(). All that is wrong, or the table.
std::variant<policy::Table, std::vector<policy::Problem>> compile_table(const policy::TableSpec& spec);

// The places of the table's facts in fact_names(); what House::fact_places holds.
std::vector<size_t> fact_places(const policy::Table& table);

// Never releases on doubt: a table that has no rule for the evidence, or cannot be evaluated, gives `hold`.
model::Decision decide(const model::Evidence& evidence, const House& house);

// The values of the facts, in the order of fact_names(): for `girdled case`, which explains the rules.
std::vector<policy::Value> facts(const model::Evidence& evidence, const House& house);

// The reason in plain words: the house's own wording, else ours.
std::string reason_text(std::string_view code, const model::Evidence& evidence, const House& house);

}  // namespace girdle::casework
