// A ledger with a recorder, and what tests give it: documents, in transactions of their own.
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "service/random_documents.h"
#include "service/recorder.h"
#include "service/rules_of.h"
#include "service/temp_ledger.h"
#include "service/whole_set.h"

namespace girdle::service {

inline casework::HouseSpec test_spec() {
  casework::HouseSpec spec;
  casework::HouseSpec::Instrument& two_routes = spec.instruments.emplace_back();
  two_routes.serial = "A-0117";
  two_routes.bench = "counter-1";
  two_routes.cycle = std::chrono::seconds(45);
  two_routes.scope = {{"carat", {"[0.03..10]"}}, {"color", {"[D..J]"}}};
  two_routes.ambient = {{"temperature_c", {"[-5..23]"}}};
  casework::HouseSpec::Instrument& plain = spec.instruments.emplace_back();
  plain.serial = "B-0042";
  plain.bench = "counter-2";
  return spec;
}

// Where a person decided last, what the policy said before.
inline base::Result<model::Outcome> last_of_policy(ledger::Ledger& ledger, const ledger::CaseRow& row) {
  int64_t sequence = row.sequence;
  auto outcome = ledger.full_outcome(row.number, sequence, "quay-street");
  while (outcome && outcome->by_hand) outcome = ledger.full_outcome(row.number, --sequence, "quay-street");
  return outcome;
}

// The ledger's answer in the shape of the whole set's.
inline ExpectedCases stored_cases(ledger::Ledger& ledger) {
  ExpectedCases cases;
  for (const std::string& key : random_keys()) {
    const auto subject = ledger.find_subject(key);
    if (!subject) continue;
    auto rows = ledger.cases_of(*subject);
    EXPECT_TRUE(rows.ok());
    for (const ledger::CaseRow& row : *rows) {
      if (row.state != ledger::CaseState::kOpen) continue;
      auto outcome = last_of_policy(ledger, row);
      EXPECT_TRUE(outcome.ok());
      ExpectedCase one{row.first_at, row.last_at, outcome->decision, outcome->kind, {}};
      if (outcome->declared) model::append_content(one.declared_content, *outcome->declared);
      cases[key].push_back(std::move(one));
    }
    std::sort(cases[key].begin(), cases[key].end(), [](const auto& a, const auto& b) { return a.from < b.from; });
    if (cases[key].empty()) cases.erase(key);
  }
  return cases;
}

class RecorderTest : public testing::Test {
 protected:
  RecorderTest() : adoption_(adoption_of(test_spec(), {"till"})), house_(adoption_.rules.house), clock_(base::from_millis(kStart)) { open(); }

  void open() {
    recorder_.reset();
    ledger_.reset();
    temp_ = std::make_unique<TempLedger>();
    ledger_ = temp_->open();
    start();
  }

  // As a new process would, on the ledger as it is.
  void start() { start(adoption_); }
  void start(const Adoption& adoption) {
    recorder_ = std::make_unique<Recorder>(*ledger_, clock_, "quay-street");
    ASSERT_TRUE(ledger_->begin().ok());
    ASSERT_TRUE(recorder_->adopt(adoption).ok());
    ASSERT_TRUE(ledger_->commit().ok());
    recorder_->committed();
  }

  // One transaction.
  void record(std::span<const Batch> batches) {
    add_all(batches);
    ASSERT_TRUE(ledger_->commit().ok());
    recorder_->committed();
  }
  void record(const std::vector<Batch>& batches) { record(std::span(batches)); }

  // One that the disk refuses at its end.
  void record_in_vain(std::span<const Batch> batches) {
    add_all(batches);
    ledger_->rollback();
    recorder_->rolled_back();
  }

  model::Reading reading(const std::string& run, int64_t seconds, const std::string& stock, model::Finding finding) {
    model::Reading r;
    r.instrument = "A-0117";
    r.run = run;
    r.measured_at = base::from_millis(kStart + seconds * 1000);
    r.stock_number = stock;
    r.finding = finding;
    r.carat = base::Decimal::parse("0.53");
    return r;
  }

  Batch document(std::vector<model::Reading> readings, int64_t came_seconds = 0, const std::string& intake = "exports") {
    Batch batch;
    batch.document.intake = intake;
    batch.document.name = "f" + std::to_string(++documents_);
    batch.document.digest = base::sha256(batch.document.name);
    batch.document.came_at = base::from_millis(kStart + came_seconds * 1000);
    for (size_t i = 0; i < readings.size(); ++i) readings[i].place = {i * 100, 100, static_cast<uint32_t>(i + 1)};
    batch.records.readings = std::move(readings);
    return batch;
  }

  model::Outcome last_outcome(const std::string& key) {
    const auto subject = ledger_->find_subject(key);
    if (!subject) return {};
    auto rows = ledger_->cases_of(*subject);
    if (!rows || rows->empty()) return {};
    auto outcome = ledger_->full_outcome(rows->back().number, rows->back().sequence, "quay-street");
    return outcome ? std::move(*outcome) : model::Outcome();
  }

  void add_all(std::span<const Batch> batches) {
    ASSERT_TRUE(ledger_->begin().ok());
    for (const Batch& batch : batches) {
      const auto done = recorder_->add(batch);
      ASSERT_TRUE(done.ok()) << done.error().text;
    }
    const auto done = recorder_->settle(fresh_, 1000);
    ASSERT_TRUE(done.ok()) << done.error().text;
  }

  const Adoption adoption_;
  std::shared_ptr<const casework::House> house_;
  base::ManualClock clock_;
  std::unique_ptr<TempLedger> temp_;
  std::unique_ptr<ledger::Ledger> ledger_;
  std::unique_ptr<Recorder> recorder_;
  std::vector<model::Delivery> fresh_;
  int documents_ = 0;
};

inline std::string told(const ExpectedCases& cases) {
  std::string out;
  for (const auto& [key, list] : cases) {
    for (const ExpectedCase& c : list) {
      out += key + " " + std::to_string(base::to_millis(c.from) - kStart) + ".." + std::to_string(base::to_millis(c.to) - kStart) + " " +
             std::string(model::text(c.decision.disposition)) + " " + c.decision.reason + " valid " +
             std::to_string(c.decision.evidence.valid) + " void " + std::to_string(c.decision.evidence.voids) + " disc " +
             std::to_string(c.decision.evidence.discounted) + (c.declared_content.empty() ? "" : " declared") + " " +
             std::string(model::text(c.kind)) + "\n";
    }
  }
  return out;
}

}  // namespace girdle::service
