// Outcomes for tests: invented shops and stones.
#pragma once

#include <string>

#include "model/outcome.h"

namespace girdle::delivery {

inline model::Outcome sample_outcome(int64_t case_number, int64_t sequence) {
  model::Outcome outcome;
  outcome.case_id = "q1-" + std::to_string(case_number);
  outcome.sequence = sequence;
  outcome.site = "quay-street";
  outcome.stock_number = "R" + std::to_string(1000 + case_number);
  outcome.decision.disposition = model::Disposition::kRefer;
  outcome.decision.reason = "findings_differ";
  outcome.reasons = {{"findings_differ", "The readings differ."}};
  outcome.decision.rule = 4;
  outcome.decision.evidence.valid = 2;
  outcome.decision.evidence.required = 2;
  outcome.decision.evidence.finding = model::Evidence::Common::kMixed;
  outcome.policy = {"default", "1", "sha256:" + std::string(64, '0')};
  outcome.decided_at = base::from_millis(1793614530000);  // 2026-11-02T10:15:30Z
  return outcome;
}

inline model::Delivery sample_delivery(int64_t id, int64_t case_number, int64_t sequence) {
  model::Delivery delivery;
  delivery.id = id;
  delivery.outlet = 1;
  delivery.case_number = case_number;
  delivery.outcome = sample_outcome(case_number, sequence);
  return delivery;
}

}  // namespace girdle::delivery
