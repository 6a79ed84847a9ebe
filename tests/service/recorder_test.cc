#include "service/recorder.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <random>
#include <span>
#include <sstream>

#include "service/recorder_table.h"

namespace girdle::service {
namespace {

using base::Decimal;
using base::from_millis;
using base::Instant;
using base::Millis;
using model::Finding;

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
