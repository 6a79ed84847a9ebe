// From evidence to a decision, by the house's disposition table. Pure.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "casework/house.h"
#include "model/outcome.h"

namespace girdle::casework {

// The facts that a disposition table may use, in the order of their slots.
const std::vector<std::string>& fact_names();

// The default policy's table (common practice, no source: two or three runs a stone; a metal seat can read as a
// simulant).
policy::TableSpec default_table();

// What is wrong with a compiled table as a disposition table: it needs the outputs `disposition` and `reason`, each
// `disposition` a word of ours, and no fact that fact_names() does not have. Empty when nothing is.
std::vector<policy::Problem> disposition_problems(const policy::TableSpec& spec, const policy::Table& table);

// Never releases on doubt: a table that has no rule for the evidence, or cannot be evaluated, gives `hold`.
model::Decision decide(const model::Evidence& evidence, const House& house);

// The values of the facts, in the order of fact_names(): for `girdled case`, which explains the rules.
std::vector<policy::Value> facts(const model::Evidence& evidence, const House& house);

// The reason in plain words: the house's own wording, else ours.
std::string reason_text(std::string_view code, const model::Evidence& evidence, const House& house);

}  // namespace girdle::casework
