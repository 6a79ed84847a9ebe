// A ledger with two outlets, and what tests of deliveries do with it: within one transaction, unless they end it.
#pragma once

#include <gtest/gtest.h>

#include <map>
#include <string>
#include <vector>

#include "ledger/ledger.h"
#include "raw.h"
#include "service/temp_ledger.h"

namespace girdle::ledger {

class DeliveryTable : public testing::Test {
 protected:
  static constexpr Number kCase = 1 << 16;

  DeliveryTable() : ledger_(temp_.open()) {
    EXPECT_TRUE(ledger_->begin().ok());
    till_ = *ledger_->outlet("till");
    inventory_ = *ledger_->outlet("inventory");
  }

  // Outcome `sequence` of a case, on its way to the till.
  Number add(int64_t sequence, Number case_number = kCase, int64_t at = 1000) {
    return add_to(till_, sequence, case_number, at);
  }
  Number add_to(Number outlet, int64_t sequence, Number case_number = kCase, int64_t at = 1000) {
    bool is_head = false;
    const auto id = ledger_->add_delivery(outlet, case_number, sequence, base::from_millis(at), &is_head);
    EXPECT_TRUE(id.ok());
    return id ? *id : 0;
  }
  std::vector<Number> add_many(int64_t count, Number case_number = kCase) {
    std::vector<Number> ids;
    for (int64_t sequence = 1; sequence <= count; ++sequence) ids.push_back(add(sequence, case_number));
    return ids;
  }

  DeliveryRow row(Number id) {
    auto found = ledger_->delivery(id);
    EXPECT_TRUE(found.ok() && found->has_value()) << id;
    return found.ok() && *found ? **found : DeliveryRow();
  }
  model::DeliveryState state(Number id) { return row(id).state; }

  // How a delivery stands: "waiting due 1000", "waiting", "sent".
  std::string told(Number id) {
    const DeliveryRow r = row(id);
    return std::string(model::text(r.state)) + (r.due ? " due " + std::to_string(base::to_millis(*r.due)) : "");
  }
  std::vector<std::string> told(const std::vector<Number>& ids) {
    std::vector<std::string> all;
    for (const Number id : ids) all.push_back(told(id));
    return all;
  }

  // An attempt ends so; the next head, or 0.
  Number mark(Number id, model::DeliveryState state, int64_t at = 2000) {
    DeliveryRow r = row(id);
    r.state = state;
    ++r.attempts;
    r.due.reset();
    if (state == model::DeliveryState::kWaiting) r.due = base::from_millis(at + 60'000);
    r.changed_at = base::from_millis(at);
    AttemptRow attempt;
    attempt.at = base::from_millis(at);
    auto next = ledger_->mark_delivery(r, &attempt);
    EXPECT_TRUE(next.ok()) << (next ? "" : next.error().text);
    return next ? *next : 0;
  }
  void mark_all(const std::vector<Number>& ids, const std::vector<model::DeliveryState>& states) {
    for (size_t i = 0; i < states.size(); ++i) mark(ids[i], states[i]);
  }

  Resent resend(const Selection& selection, int64_t at = 9000) {
    auto resent = ledger_->resend(selection, base::from_millis(at));
    EXPECT_TRUE(resent.ok()) << (resent ? "" : resent.error().text);
    return resent ? *resent : Resent();
  }

  std::vector<Number> due(Number outlet, int64_t now, size_t limit = 100, const std::vector<Number>& except = {},
                          base::Instant* next_due = nullptr) {
    base::Instant next{};
    auto rows = ledger_->due_deliveries(outlet, base::from_millis(now), limit, except, next_due ? next_due : &next);
    EXPECT_TRUE(rows.ok());
    std::vector<Number> ids;
    for (const DeliveryRow& r : *rows) ids.push_back(r.id);
    return ids;
  }

  void commit() { EXPECT_TRUE(ledger_->commit().ok()); }

  TempLedger temp_;
  std::unique_ptr<Ledger> ledger_;
  Number till_ = 0, inventory_ = 0;
};

}  // namespace girdle::ledger
