// What the ledger tells of a subject, gathered for a person: a story for each of its cases, and why each ended as it did.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/result.h"
#include "cli/open_ledger.h"
#include "ledger/ledger.h"

namespace girdle::cli {

struct ToldReading {
  ledger::StoredReading stored;
  std::string worth;  // as evidence, in words
  std::vector<ledger::Receipt> duplicates;
};

struct ToldDeclaration {
  ledger::StoredDeclaration stored;
  ledger::Receipt arrival;  // of the document that it first came in
  bool in_force = false;    // for the case; without a case, the newest
  std::vector<ledger::Receipt> duplicates;

  // When the claim was made: as the record says, else when the document came.
  base::Instant declared_at() const { return stored.declaration.declared_at.value_or(arrival.came_at); }
};

struct ToldDelivery {
  ledger::DeliveryRow row;
  std::string outlet;
};

struct Story {
  std::string key;                     // the subject's
  std::optional<ledger::CaseRow> row;  // nothing: the subject has no case, for nothing that counts was measured
  std::vector<model::Outcome> outcomes;       // of the case, the last one last; empty without a case
  std::vector<ToldDeclaration> declarations;  // of the subject, the newest last
  std::vector<ToldReading> readings;          // live, superseded, second routes
  std::vector<ToldDelivery> deliveries;
  std::vector<ledger::ShadowRow> shadows;  // what policies in the shadow said, by sequence
};

// The outlet's last answer: its HTTP status, what was noted of it, or both.
std::string last_answer(const ledger::DeliveryRow& row);

// One story a case, the newest case first; a single one without a case for a subject that has none. Empty when nothing
// is known under this stock number.
base::Result<std::vector<Story>> tell(OpenLedger& open, const std::string& stock_number);

}  // namespace girdle::cli
