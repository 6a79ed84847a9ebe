#include "cli/resend_plan.h"

#include <algorithm>
#include <limits>
#include <optional>

namespace girdle::cli {
namespace {

using base::Result;
using ledger::DeliveryRow;
using model::DeliveryState;

constexpr size_t kMostReaches = 10'000;  // in memory

// What narrows the most, so that a large ledger is not read whole.
Result<ledger::Filter> filter_for(ledger::Ledger& ledger, const ledger::Selection& selection) {
  ledger::Filter filter;
  filter.limit = std::numeric_limits<int64_t>::max();
  filter.stock_number = selection.stock_number;
  filter.outlet = selection.outlet;
  if (selection.parked) filter.word = model::text(DeliveryState::kParked);
  if (selection.delivery != 0) {
    auto row = ledger.delivery(selection.delivery);
    if (!row) return row.error();
    if (!*row) return base::input_error("there is no delivery " + std::to_string(selection.delivery));
    if (filter.stock_number.empty()) filter.case_number = (*row)->case_number;
  }
  return filter;
}

}  // namespace

Result<ledger::Resent> ResendPlan::look(const ledger::Selection& selection, const Each& each) {
  ledger::Resent resent;
  const bool is_any_meant = selection.delivery != 0 || !selection.stock_number.empty() || selection.parked ||
                            selection.since || selection.until;
  if (!is_any_meant) return resent;
  const auto filter = filter_for(ledger_, selection);
  if (!filter) return filter.error();
  std::optional<base::Error> failed;
  const auto done = ledger_.each_delivery(*filter, [&](const DeliveryRow& row, const std::string& outlet, const std::string& key) {
    if (failed) return;
    const auto meant = is_meant(selection, row);
    if (!meant) failed = meant.error();
    if (!meant || !*meant) return;
    const auto fate = fate_of(row, outlet);
    if (!fate) {
      failed = fate.error();
      return;
    }
    ++(*fate == Fate::kAgain ? resent.again : *fate == Fate::kOvertaken ? resent.overtaken : resent.waiting);
    each(row, outlet, key, *fate);
  });
  if (!done) return done.error();
  if (failed) return *failed;
  return resent;
}

Result<bool> ResendPlan::is_meant(const ledger::Selection& selection, const DeliveryRow& row) {
  if (selection.delivery != 0 && row.id != selection.delivery) return false;
  if (!selection.since && !selection.until) return true;
  const auto outcome = ledger_.outcome(row.case_number, row.sequence);
  if (!outcome) return outcome.error();
  if (!*outcome) return false;
  const base::Instant at = (*outcome)->decided_at;
  return at >= selection.since.value_or(base::Instant::min()) && at <= selection.until.value_or(base::Instant::max());
}

Result<ResendPlan::Fate> ResendPlan::fate_of(const DeliveryRow& row, const std::string& outlet) {
  const auto reach = reach_of(row, outlet);
  if (!reach) return reach.error();
  switch (row.state) {
    case DeliveryState::kWaiting: return Fate::kWaiting;
    case DeliveryState::kSent: return row.sequence == reach->last ? Fate::kAgain : Fate::kOvertaken;
    case DeliveryState::kParked: return row.sequence > reach->last_on_way ? Fate::kAgain : Fate::kOvertaken;
    case DeliveryState::kSkipped: return Fate::kOvertaken;
  }
  return Fate::kOvertaken;
}

Result<ResendPlan::Reach> ResendPlan::reach_of(const DeliveryRow& row, const std::string& outlet) {
  const std::pair key(row.case_number, row.outlet);
  if (const auto at = reaches_.find(key); at != reaches_.end()) return at->second;
  ledger::Filter filter;
  filter.case_number = row.case_number;
  filter.outlet = outlet;
  filter.limit = std::numeric_limits<int64_t>::max();
  Reach reach;
  const auto done = ledger_.each_delivery(filter, [&](const DeliveryRow& other, const std::string&, const std::string&) {
    reach.last = std::max(reach.last, other.sequence);
    if (other.state == DeliveryState::kSent || other.state == DeliveryState::kWaiting) {
      reach.last_on_way = std::max(reach.last_on_way, other.sequence);
    }
  });
  if (!done) return done.error();
  if (reaches_.size() == kMostReaches) reaches_.clear();
  reaches_.emplace(key, reach);
  return reach;
}

}  // namespace girdle::cli
