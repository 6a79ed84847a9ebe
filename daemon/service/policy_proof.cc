#include "service/policy_proof.h"

#include "casework/decide.h"
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

}  // namespace

PolicyProof prove_policy(const config::Settings& settings, const policy::Table& table) {
  PolicyProof proof;
  const auto& own = settings.policy.table;
  if (!own) return proof;
  tell(*own, table.warnings(), proof.notices);
  for (const policy::ProofNote& note : policy::prove(table, {}, casework::proof_facts())) {
    (note.is_error ? proof.faults : proof.notices).push_back({own->file, mark_of(*own, note), text_of(note)});
  }
  config::put_in_order(proof.faults, own->file);
  config::put_in_order(proof.notices, own->file);
  return proof;
}

}  // namespace girdle::service
