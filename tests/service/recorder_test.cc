#include "service/recorder.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <random>
#include <span>
#include <sstream>

#include "service/random_documents.h"
#include "service/rules_of.h"
#include "service/temp_ledger.h"
#include "service/whole_set.h"

namespace girdle::service {
namespace {

using base::Decimal;
using base::from_millis;
using base::Instant;
using base::Millis;
using model::Finding;

casework::HouseSpec test_spec() {
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

// The ledger's answer in the shape of the whole set's.
ExpectedCases stored_cases(ledger::Ledger& ledger) {
  ExpectedCases cases;
  for (const std::string& key : random_keys()) {
    const auto subject = ledger.find_subject(key);
    if (!subject) continue;
    auto rows = ledger.cases_of(*subject);
    EXPECT_TRUE(rows.ok());
    for (const ledger::CaseRow& row : *rows) {
      if (row.state != ledger::CaseState::kOpen) continue;
      auto outcome = ledger.full_outcome(row.number, row.sequence, "quay-street");
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
  RecorderTest() : adoption_(adoption_of(test_spec(), {"till"})), house_(adoption_.rules.house), clock_(from_millis(kStart)) { open(); }

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

  model::Reading reading(const std::string& run, int64_t seconds, const std::string& stock, Finding finding) {
    model::Reading r;
    r.instrument = "A-0117";
    r.run = run;
    r.measured_at = from_millis(kStart + seconds * 1000);
    r.stock_number = stock;
    r.finding = finding;
    r.carat = Decimal::parse("0.53");
    return r;
  }

  Batch document(std::vector<model::Reading> readings, int64_t came_seconds = 0, const std::string& intake = "exports") {
    Batch batch;
    batch.document.intake = intake;
    batch.document.name = "f" + std::to_string(++documents_);
    batch.document.digest = base::sha256(batch.document.name);
    batch.document.came_at = from_millis(kStart + came_seconds * 1000);
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

TEST_F(RecorderTest, TwoAgreeingRunsInsideScopeReleaseAsDeclaredNothing) {
  record({document({reading("1", 0, "R1042", Finding::kNatural)})});
  EXPECT_EQ(last_outcome("R1042").decision.disposition, model::Disposition::kRepeat);
  record({document({reading("2", 60, "R1042", Finding::kNatural)})});
  const model::Outcome outcome = last_outcome("R1042");
  EXPECT_EQ(outcome.decision.disposition, model::Disposition::kRelease);
  EXPECT_EQ(outcome.sequence, 2);
  EXPECT_EQ(outcome.previous, model::Disposition::kRepeat);
  EXPECT_EQ(outcome.decision.rule, 12);
}

TEST_F(RecorderTest, EachMeasurementCountsOnce) {
  const Batch original = document({reading("1", 0, "R1042", Finding::kNatural)});
  record({original});
  record({document({reading("1", 0, "R1042", Finding::kNatural)}, 5)});
  record({document({reading("1", 0, "R1042", Finding::kNatural)}, 9, "line")});
  const model::Outcome outcome = last_outcome("R1042");
  EXPECT_EQ(outcome.decision.evidence.valid, 1);
  EXPECT_EQ(outcome.sequence, 1) << "a duplicate is no news";
  EXPECT_EQ(recorder_->counts().duplicates, 2u);
  const auto subject = ledger_->find_subject("R1042");
  auto readings = ledger_->readings_of(*subject, Instant::min(), Instant::max());
  ASSERT_TRUE(readings.ok());
  ASSERT_EQ(readings->size(), 1u);
  EXPECT_EQ(ledger_->count_receipts(ledger::Ledger::ReceiptKind::kReading, readings->front().id), 2);
}

// A repeat has to have the same content: new words of the house are for what is decided by them.
TEST_F(RecorderTest, AnOutcomeIsToldInTheWordsOfTheRulesThatDecidedIt) {
  record({document({reading("1", 0, "R1", Finding::kNatural)})});
  casework::HouseSpec spec = test_spec();
  spec.reasons["more_readings_needed"].text = "Einmal ist keinmal.";
  start(adoption_of(spec, {"till"}));
  record({document({reading("2", 60, "R2", Finding::kNatural)})});
  HouseShelf shelf(*ledger_);
  const auto first_reason = [&](const char* stock) {
    const ledger::Number number = ledger::first_case_of(*ledger_->find_subject(stock));
    auto told = told_outcome(*ledger_, shelf, number, 1, "quay-street");
    EXPECT_TRUE(told.ok() && told->reasons.front().code == "more_readings_needed");
    return told ? told->reasons.front().text : told.error().text;
  };
  EXPECT_EQ(first_reason("R2"), "Einmal ist keinmal.");
  EXPECT_NE(first_reason("R1"), "Einmal ist keinmal.");
  EXPECT_FALSE(first_reason("R1").empty());
}

TEST_F(RecorderTest, ACorrectionMovesTheReadingToAnotherSubjectAndTellsBoth) {
  record({document({reading("1", 0, "R1042", Finding::kSimulant), reading("2", 60, "R1042", Finding::kSimulant)})});
  EXPECT_EQ(last_outcome("R1042").decision.disposition, model::Disposition::kReject);
  record({document({reading("1", 0, "R1043", Finding::kSimulant), reading("2", 60, "R1043", Finding::kSimulant)}, 30)});
  EXPECT_EQ(last_outcome("R1043").decision.disposition, model::Disposition::kReject);
  EXPECT_EQ(last_outcome("R1042").decision.reason, "no_valid_measurement");
  EXPECT_EQ(last_outcome("R1042").decision.disposition, model::Disposition::kRepeat);
}

TEST_F(RecorderTest, AnOlderVersionThatComesLateChangesNothing) {
  record({document({reading("1", 0, "R1042", Finding::kNatural)}, 30)});
  record({document({reading("1", 0, "R1042", Finding::kSimulant)}, 10)});
  EXPECT_EQ(last_outcome("R1042").decision.evidence.finding, model::Evidence::Common::kNatural);
}

TEST_F(RecorderTest, TwoRoutesOfOneMeasurementCountOnceAndCompleteEachOther) {
  model::Reading by_file = reading("1", 0, "R1042", Finding::kNatural);
  model::Reading by_line = reading("", 3, "", Finding::kNatural);
  by_line.color = "F";
  record({document({by_line}, 1, "line")});
  record({document({by_file}, 2, "exports")});
  EXPECT_EQ(last_outcome("R1042").decision.evidence.valid, 1);
  record({document({reading("2", 50, "R1042", Finding::kNatural)}, 60)});
  EXPECT_EQ(last_outcome("R1042").decision.evidence.valid, 2) << "50 s are more than the cycle of 45 s";
}

// The case then ends before its last record.
TEST_F(RecorderTest, ASecondRouteCompletesTheLastMeasurementOfACaseForGood) {
  model::Reading by_line = reading("", 3, "R1042", Finding::kNatural);
  by_line.color = "K";  // outside the instrument's scope
  record({document({reading("1", 0, "R1042", Finding::kNatural)}, 2, "exports"), document({by_line}, 1, "line")});
  EXPECT_EQ(last_outcome("R1042").decision.evidence.scope, model::Scope::kOut);
  Batch list;
  list.document.intake = "stock";
  list.document.name = "list";
  list.records.declarations.emplace_back().stock_number = "R1042";
  record({list});
  EXPECT_EQ(last_outcome("R1042").decision.evidence.scope, model::Scope::kOut) << "when the case is looked at again";
}

TEST_F(RecorderTest, ACopyByTheOtherIntakeTellsTwoMeasurementsApart) {
  const model::Reading by_line = reading("", 3, "R1042", Finding::kNatural);
  record({document({reading("1", 0, "R1042", Finding::kNatural)}, 2, "exports"), document({by_line}, 1, "line")});
  EXPECT_EQ(last_outcome("R1042").decision.evidence.valid, 1);
  record({document({by_line}, 5, "exports")});
  EXPECT_EQ(last_outcome("R1042").decision.evidence.valid, 2) << "one intake brought both";
}

TEST_F(RecorderTest, AReadingWithoutAStockNumberTakesItFromTheLastFreshScan) {
  Batch scan;
  scan.document.intake = "scanner";
  scan.document.name = "scanner";
  scan.records.scans = {{"counter-1", "R1042", "", from_millis(kStart - 30'000), {}}};
  record({document({reading("1", 0, "", Finding::kNatural)})});
  EXPECT_FALSE(ledger_->find_subject("R1042").has_value()) << "nothing is guessed before the scan is known";
  record({scan});
  EXPECT_EQ(last_outcome("R1042").decision.evidence.valid, 1);
  record({document({reading("2", 121, "", Finding::kNatural)})});
  EXPECT_EQ(last_outcome("R1042").decision.evidence.valid, 1) << "after two minutes the scan is no longer fresh";
}

TEST_F(RecorderTest, ALateRecordThatClosesAGapMakesOneCaseOfTwo) {
  const int64_t day = 86'400;
  record({document({reading("1", 0, "R1042", Finding::kNatural)})});
  record({document({reading("2", 40 * day, "R1042", Finding::kNatural)})});
  const auto subject = ledger_->find_subject("R1042");
  ASSERT_EQ(ledger_->cases_of(*subject)->size(), 2u);
  record({document({reading("3", 20 * day, "R1042", Finding::kNatural)})});
  auto rows = ledger_->cases_of(*subject);
  ASSERT_EQ(rows->size(), 2u);
  EXPECT_EQ((*rows)[0].state, ledger::CaseState::kOpen);
  EXPECT_EQ((*rows)[1].state, ledger::CaseState::kMerged);
  EXPECT_EQ((*rows)[1].merged_into, (*rows)[0].number) << "the older id lives on";
  const auto merged = ledger_->full_outcome((*rows)[1].number, (*rows)[1].sequence, "quay-street");
  EXPECT_EQ(merged->merged_into, ledger_->case_id((*rows)[0].number));
}

std::string told(const ExpectedCases& cases) {
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

// Promise 3. Every so often the process starts anew, or a transaction is taken back and comes again.
TEST_F(RecorderTest, OrderOfArrivalDoesNotMatter) {
  const auto [first, end] = seeds(1000);
  for (unsigned seed = first; seed < end; ++seed) {
    std::mt19937 random(seed);
    std::vector<Batch> documents = random_documents(random);
    const ExpectedCases expected = whole_set(documents, *house_);
    for (int order = 0; order < 3; ++order) {
      open();
      std::shuffle(documents.begin(), documents.end(), random);
      for (size_t i = 0; i < documents.size();) {
        const size_t take = std::min<size_t>(1 + random() % 6, documents.size() - i);
        const auto batches = std::span(documents).subspan(i, take);
        if (random() % 16 == 0) record_in_vain(batches);
        record(batches);
        if (random() % 16 == 0) start();
        if (HasFatalFailure()) return;
        i += take;
      }
      const ExpectedCases stored = stored_cases(*ledger_);
      ASSERT_TRUE(stored == expected) << "seed " << seed << " order " << order << "\nexpected\n" << told(expected) << "stored\n" << told(stored);
    }
  }
}

TEST_F(RecorderTest, ReplayingEverythingChangesNothing) {
  for (unsigned seed = 100; seed < 120; ++seed) {
    std::mt19937 random(seed);
    std::vector<Batch> documents = random_documents(random);
    open();
    record(documents);
    const auto outcomes = recorder_->counts().outcomes;
    const ExpectedCases before = stored_cases(*ledger_);
    std::shuffle(documents.begin(), documents.end(), random);
    for (const Batch& batch : documents) record({batch});
    EXPECT_EQ(recorder_->counts().outcomes, outcomes) << "seed " << seed;
    EXPECT_TRUE(stored_cases(*ledger_) == before) << "seed " << seed;
  }
}

}  // namespace
}  // namespace girdle::service
