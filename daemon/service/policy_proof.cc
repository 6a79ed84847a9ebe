#include "service/policy_proof.h"

#include "policy/proof.h"

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

void prove_table(const config::DecisionTable& own, const policy::Table& table, casework::FactSet facts,
                 PolicyProof& proof) {
  tell(own, table.warnings(), proof.notices);
  const std::vector<policy::ProofFact> known = casework::proof_facts(facts);
  for (const policy::ProofNote& note : policy::prove(table, {}, known)) {
    // Where no rule asks for runs, the parameters do.
    if (note.kind == policy::ProofNote::Kind::kGap && facts == casework::FactSet::kStone) continue;
    (note.is_error ? proof.faults : proof.notices).push_back({own.file, mark_of(own, note), text_of(note)});
  }
}

void prove_policy(const config::Policy& policy, const Rules& rules, PolicyProof& proof) {
  using casework::FactSet;
  const casework::House& house = *rules.house;
  if (policy.table) prove_table(*policy.table, house.table.table, FactSet::kEvidence, proof);
  if (policy.required_table) prove_table(*policy.required_table, house.required_table->table, FactSet::kStone, proof);
  if (policy.routing) prove_table(*policy.routing, house.routing->table, FactSet::kAnswer, proof);
}

}  // namespace

PolicyProof prove_policies(const Checked& checked) {
  PolicyProof proof;
  const config::Settings& settings = checked.settings;
  if (checked.rules) prove_policy(settings.policy, *checked.rules, proof);
  if (checked.next) prove_policy(*settings.next_policy, *checked.next, proof);
  if (checked.shadow) prove_policy(*settings.shadow_policy, *checked.shadow, proof);
  config::put_in_order(proof.faults, settings.policy.file);
  config::put_in_order(proof.notices, settings.policy.file);
  return proof;
}

}  // namespace girdle::service
