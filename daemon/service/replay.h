// An outcome of the ledger, computed again: from the readings that it rests on, by rules.
#pragma once

#include <optional>
#include <vector>

#include "base/result.h"
#include "casework/house.h"
#include "casework/weigh.h"
#include "ledger/ledger.h"
#include "model/outcome.h"

namespace girdle::service {

// What an outcome rests on. Owns its readings; the declaration is the history's.
struct Basis {
  std::vector<model::Reading> readings;  // each measurement once, in the order of time
  const model::Declaration* declared = nullptr;
};

// Of an outcome of the history's subject. Nothing where it was written before the ledger kept that.
// Errors: the ledger lacks a reading or a declaration that the outcome names, or cannot be read.
base::Result<std::optional<Basis>> basis_of(ledger::Ledger& ledger,
                                            const ledger::SubjectHistory& history,
                                            const ledger::OutcomeRow& outcome);

// What would be the basis today, of a case of the history: its readings as they are now.
Basis basis_today(const ledger::SubjectHistory& history, const ledger::CaseRow& row,
                  const ledger::OutcomeRow& outcome);

// Pure.
model::Decision decide_again(const Basis& basis, const casework::House& house);

}  // namespace girdle::service
