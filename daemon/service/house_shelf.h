// The houses that a ledger's outcomes were decided by, compiled again from the rules that it keeps.
#pragma once

#include <map>
#include <memory>

#include "base/result.h"
#include "casework/house.h"
#include "ledger/ledger.h"

namespace girdle::service {

// Lives no longer than the ledger; on its thread.
class HouseShelf {
 public:
  explicit HouseShelf(ledger::Ledger& ledger) : ledger_(ledger) {}

  using House = std::shared_ptr<const casework::House>;
  // Errors: the ledger has no such house, or rules that this version cannot read.
  base::Result<House> at(ledger::Number number);
  // One that was compiled already.
  void put(ledger::Number number, House house) { houses_[number] = std::move(house); }

 private:
  ledger::Ledger& ledger_;
  std::map<ledger::Number, House> houses_;  // a few: one for each change of policy or instruments
};

// An outcome with all that an outlet is told, its reasons in the words of the rules that decided.
// Where those cannot be read, the code of the reason stands alone.
base::Result<model::Outcome> told_outcome(ledger::Ledger& ledger, HouseShelf& shelf,
                                          ledger::Number case_number, int64_t sequence,
                                          std::string_view site);

// The delivery with that outcome; due now where nothing is said.
base::Result<model::Delivery> told_delivery(ledger::Ledger& ledger, HouseShelf& shelf, const ledger::DeliveryRow& row,
                                            std::string_view site, base::Instant now);

}  // namespace girdle::service
