// What the ledger tells of a subject, gathered for a person: a story for each of its cases, and why each ended as it did.
// The command line prints it, and the API gives it, as one JSON object a case.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "base/result.h"
#include "casework/house.h"
#include "casework/what_if.h"
#include "ledger/ledger.h"
#include "service/house_shelf.h"

namespace girdle::service {

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

// Where a story is read from.
struct StorySource {
  ledger::Ledger& ledger;
  HouseShelf& shelf;                                // of the rules that decided
  const casework::House* house = nullptr;           // in force; null where the configuration's rules are wrong
  std::string site;
};

// One story a case, the newest case first; a single one without a case for a subject that has none. Empty when nothing
// is known under this stock number.
base::Result<std::vector<Story>> tell(const StorySource& source, const std::string& stock_number);
// Nothing: there is no such case.
base::Result<std::optional<Story>> tell_case(const StorySource& source, ledger::Number case_number);

// What would change the case's last outcome, by the policy that decided.
std::vector<casework::WhatIf> steps_from(const StorySource& source, const Story& story);

// Appends the story as one object; without a case its outcome and its state are null.
void write_json(std::string& out, const StorySource& source, const Story& story);

}  // namespace girdle::service
