#include "service/house_shelf.h"

#include "casework/explain.h"
#include "casework/house_spec.h"

namespace girdle::service {

base::Result<HouseShelf::House> HouseShelf::at(ledger::Number number) {
  if (const auto known = houses_.find(number); known != houses_.end()) return known->second;
  auto row = ledger_.house_row(number);
  if (!row) return row.error();
  if (!*row)
    return base::input_error("the ledger has no rules of number " + std::to_string(number));
  auto spec = casework::read_rules((*row)->rules);
  if (!spec) return spec.error();
  auto built = casework::build(*spec);
  if (const auto* problems = std::get_if<std::vector<casework::HouseProblem>>(&built)) {
    return base::input_error("the rules of " + (*row)->stamp.digest +
                             " cannot be read any more: " + problems->front().text);
  }
  casework::House house = std::move(std::get<casework::BuiltHouse>(built).house);
  house.stamp = (*row)->stamp;
  auto shared = std::make_shared<const casework::House>(std::move(house));
  houses_.emplace(number, shared);
  return House(std::move(shared));
}

base::Result<model::Outcome> told_outcome(ledger::Ledger& ledger, HouseShelf& shelf,
                                          ledger::Number case_number, int64_t sequence,
                                          std::string_view site) {
  auto outcome = ledger.full_outcome(case_number, sequence, site);
  if (!outcome) return outcome;
  const model::Evidence& e = outcome->decision.evidence;
  const bool is_open = outcome->merged_into.empty() && e.valid + e.voids + e.discounted > 0;
  if (const auto house = shelf.at(outcome->house)) {
    outcome->reasons = outcome->by_hand
                           ? casework::reasons_by_hand(*outcome->by_hand, e, **house)
                           : casework::reasons(outcome->decision, **house, is_open);
    outcome->disclosure = casework::disclosure_of(e, **house);
  } else {
    outcome->reasons = {{outcome->decision.reason, house.error().text}};
  }
  if (model::takes_back(*outcome)) {
    for (int64_t earlier = 1; earlier < sequence; ++earlier) {
      auto old = ledger.full_outcome(case_number, earlier, site);
      if (!old) return old;
      outcome->taken_back.push_back(std::move(old).value());
    }
  }
  return outcome;
}

base::Result<model::Delivery> told_delivery(ledger::Ledger& ledger, HouseShelf& shelf, const ledger::DeliveryRow& row,
                                            std::string_view site, base::Instant now) {
  auto outcome = told_outcome(ledger, shelf, row.case_number, row.sequence, site);
  if (!outcome) return outcome.error();
  model::Delivery delivery;
  delivery.id = row.id;
  delivery.outlet = row.outlet;
  delivery.case_number = row.case_number;
  delivery.attempts = row.attempts;
  delivery.due = row.due.value_or(now);
  delivery.outcome = std::move(outcome).value();
  return delivery;
}

}  // namespace girdle::service
