#include "service/policy_proof.h"

#include <algorithm>
#include <utility>

#include "base/text.h"
#include "casework/explain.h"
#include "policy/proof.h"
#include "service/house_builder.h"

namespace girdle::service {
namespace {

std::string facts_text(const policy::Facts& facts) {
  std::string text;
  for (const auto& [name, value] : facts) {
    text += (text.empty() ? "" : ", ") + name + " = " + policy::to_json(value);
  }
  return text;
}

std::string text_of(const policy::ProofNote& note) {
  std::string text = note.text;
  if (!note.region.empty()) text += "; where: " + note.region;
  if (!note.example.empty()) text += "; for example " + facts_text(note.example);
  return text;
}

// Of the last rule that is concerned; of none, of the table.
config::Mark mark_of(const config::DecisionTable& table, const policy::ProofNote& note) {
  if (note.rules.empty()) return table.hit_policy.mark;
  return table.rules[static_cast<size_t>(note.rules.back()) - 1].mark;
}

// What becomes of facts that no rule covers.
std::string_view consequence(casework::FactSet facts) {
  return facts == casework::FactSet::kAnswer
             ? "; no outlet hears of such an outcome for the first time"
             : "; such a stone is held (no_rule)";
}

void prove_table(const config::DecisionTable& own, const policy::Table& table,
                 casework::FactSet facts, config::Problems& faults, config::Problems& notices) {
  tell(own, table.warnings(), notices);
  const std::vector<policy::ProofFact> known = casework::proof_facts(facts);
  bool is_hinted = false;
  for (const policy::ProofNote& note : policy::prove(table, {}, known)) {
    if (note.kind == policy::ProofNote::Kind::kOverlap && !own.is_hit_policy_given) {
      if (!std::exchange(is_hinted, true)) {
        faults.push_back({own.file, own.hit_policy.mark,
                          "hit_policy is left out, which means UNIQUE, and rules overlap; rules "
                          "that are meant in their "
                          "order want  hit_policy: FIRST"});
      }
      continue;
    }
    const bool is_gap = note.kind == policy::ProofNote::Kind::kGap;
    // Where no rule asks for runs, the parameters do.
    if (is_gap && facts == casework::FactSet::kStone) continue;
    std::string text = text_of(note);
    if (is_gap) text += consequence(facts);
    (note.is_error ? faults : notices).push_back({own.file, mark_of(own, note), std::move(text)});
  }
}

// Words for a reason that nothing gives are most likely meant for another.
void check_wording(const config::Policy& policy, config::Problems& notices) {
  const policy::TableSpec spec = policy.table ? table_spec(*policy.table) : policy::TableSpec();
  const auto cells = policy::output_cells(spec, "reason");
  std::vector<std::string_view> given;
  for (const policy::OutputCell& cell : cells.value_or(std::vector<policy::OutputCell>())) {
    if (const auto code = policy::text_literal(cell.text)) given.push_back(*code);
  }
  for (const auto& [language, wording] : policy.reasons) {
    for (const auto& [code, text] : wording) {
      if (std::ranges::find(given, code) != given.end() || casework::is_own_reason(code)) continue;
      const std::string_view near = base::nearest(code, given);
      notices.push_back(
          {policy.file, text.mark,
           "no rule gives the reason " + base::in_quotes(code) +
               (near.empty() ? "" : "; did you mean " + base::in_quotes(near) + "?")});
    }
  }
}

}  // namespace

void prove_policy(const config::Policy& policy, const casework::House& house,
                  config::Problems& faults, config::Problems& notices) {
  using casework::FactSet;
  if (policy.table)
    prove_table(*policy.table, house.table.table, FactSet::kEvidence, faults, notices);
  if (policy.required_table)
    prove_table(*policy.required_table, house.required_table->table, FactSet::kStone, faults,
                notices);
  if (policy.routing)
    prove_table(*policy.routing, house.routing->table, FactSet::kAnswer, faults, notices);
  check_wording(policy, notices);
}

}  // namespace girdle::service
