#include "service/replay.h"

#include <algorithm>

#include "casework/decide.h"
#include "casework/same.h"

namespace girdle::service {

using base::Result;
using ledger::Number;
using ledger::StoredReading;
using ledger::SubjectHistory;

namespace {

const StoredReading* find_reading(const SubjectHistory& history, Number id) {
  const auto at = std::ranges::find(history.readings, id, &StoredReading::id);
  return at == history.readings.end() ? nullptr : &*at;
}

// One that has moved to another subject since is asked of the ledger.
Result<model::Reading> reading_of(ledger::Ledger& ledger, const SubjectHistory& history,
                                  Number id) {
  if (const StoredReading* known = find_reading(history, id)) return known->reading;
  auto stored = ledger.reading(id);
  if (!stored) return stored.error();
  if (!*stored)
    return base::input_error("ledger: reading " + std::to_string(id) +
                             ", which an outcome names, is missing");
  return std::move((*stored)->reading);
}

const model::Declaration* declaration_of(const SubjectHistory& history, Number id) {
  const auto at = std::ranges::find(history.declarations, id, &ledger::StoredDeclaration::id);
  return at == history.declarations.end() ? nullptr : &at->declaration;
}

}  // namespace

Result<std::optional<Basis>> basis_of(ledger::Ledger& ledger, const SubjectHistory& history,
                                      const ledger::OutcomeRow& outcome) {
  if (!outcome.measured) return std::optional<Basis>();
  Basis basis;
  for (const ledger::Measured& measured : *outcome.measured) {
    auto first = reading_of(ledger, history, measured.reading);
    if (!first) return first.error();
    if (measured.second != 0) {
      auto second = reading_of(ledger, history, measured.second);
      if (!second) return second.error();
      *first = casework::joined(*first, *second);
    }
    basis.readings.push_back(std::move(first).value());
  }
  basis.declared = declaration_of(history, outcome.declaration);
  if (outcome.declaration != 0 && basis.declared == nullptr) {
    return base::input_error("ledger: declaration " + std::to_string(outcome.declaration) +
                             ", which an outcome names, is missing");
  }
  return std::optional(std::move(basis));
}

Basis basis_today(const SubjectHistory& history, const ledger::CaseRow& row,
                  const ledger::OutcomeRow& outcome) {
  Basis basis;
  for (const StoredReading& r : history.readings) {
    const bool is_inside =
        r.reading.measured_at >= row.first_at && r.reading.measured_at <= row.last_at;
    if (!r.live || r.pair != 0 || !is_inside) continue;
    const auto second = std::ranges::find(history.readings, r.id, &StoredReading::pair);
    const bool is_alone = second == history.readings.end() || !second->live;
    basis.readings.push_back(is_alone ? r.reading : casework::joined(r.reading, second->reading));
  }
  basis.declared = declaration_of(history, outcome.declaration);
  return basis;
}

model::Decision decide_again(const Basis& basis, const casework::House& house) {
  std::vector<casework::Measurement> measurements;
  measurements.reserve(basis.readings.size());
  for (const model::Reading& r : basis.readings)
    measurements.push_back({0, &r, &house.rules_of(r.instrument)});
  return casework::decide(casework::weigh(measurements, basis.declared, house), house);
}

}  // namespace girdle::service
