// What persons say of readings and cases: durable, never lost to a later record, and never against one.
#include <gmock/gmock.h>

#include <random>

#include "service/recorder_table.h"

namespace girdle::service {
namespace {

using base::from_millis;
using model::Disposition;
using model::Finding;
using testing::HasSubstr;
using Kind = HandFate::Kind;

const api::By kKim{"Kim", "seen under the microscope", "counter-1"};

class ByHand : public RecorderTest {
 protected:
  ledger::Number reading_of_run(const std::string& run) {
    ledger::Number id = 0;
    ledger::Page page;
    page.limit = 10'000;
    EXPECT_TRUE(ledger_->page_of_readings({}, page, [&](const ledger::ReadingLine& line) {
      if (line.stored.reading.run == run && id == 0) id = line.stored.id;  // the newest
    }).ok());
    return id;
  }

  // One transaction.
  HandFate bind(const api::Bind& deed) {
    EXPECT_TRUE(ledger_->begin().ok());
    auto fate = recorder_->bind(deed);
    EXPECT_TRUE(fate.ok()) << (fate ? "" : fate.error().text);
    EXPECT_TRUE(recorder_->settle(fresh_, 1000).ok());
    EXPECT_TRUE(recorder_->find_case(deed, *fate).ok());
    EXPECT_TRUE(ledger_->commit().ok());
    recorder_->committed();
    return *fate;
  }
  HandFate bind(const std::string& run, const std::string& stock) { return bind({reading_of_run(run), stock, "", kKim}); }

  HandFate decide(const api::DecideByHand& deed) {
    EXPECT_TRUE(ledger_->begin().ok());
    auto fate = recorder_->decide_by_hand(deed, fresh_, 1000);
    EXPECT_TRUE(fate.ok()) << (fate ? "" : fate.error().text);
    EXPECT_TRUE(recorder_->settle(fresh_, 1000).ok());
    EXPECT_TRUE(ledger_->commit().ok());
    recorder_->committed();
    return *fate;
  }
  HandFate decide(const std::string& key, Disposition disposition) {
    const auto row = last_case(key);
    return decide({row.number, row.sequence, disposition, kKim});
  }

  ledger::CaseRow last_case(const std::string& key) {
    const auto subject = ledger_->find_subject(key);
    if (!subject) return {};
    auto rows = ledger_->cases_of(*subject);
    return rows.ok() && !rows->empty() ? rows->back() : ledger::CaseRow();
  }

  void measure(int64_t run, const std::string& stock, Finding finding) {
    record({document({reading(std::to_string(run), run * 60, stock, finding)}, run)});
  }
  void measure_twice(const std::string& stock, Finding first, Finding second) {
    measure(1, stock, first);
    measure(2, stock, second);
  }

  // What persons say of readings that are there: of one in `odds` of them.
  int bind_some(HandBindings& left, unsigned odds, std::mt19937& random) {
    std::vector<ledger::StoredReading> readings;
    ledger::Page page;
    page.limit = 10'000;
    EXPECT_TRUE(ledger_->page_of_readings({}, page, [&](const ledger::ReadingLine& line) { readings.push_back(line.stored); }).ok());
    int count = 0;
    for (const ledger::StoredReading& stored : readings) {
      const auto said = left.find(run_or_record(stored.reading));
      if (said == left.end() || !stored.reading.stock_number.empty() || random() % odds != 0) continue;
      EXPECT_EQ(bind({stored.id, said->second.first, said->second.second, kKim}).kind, Kind::kDone);
      left.erase(said);
      ++count;
    }
    return count;
  }

  Batch scan_of(const std::string& stock, int64_t at) {
    Batch scan;
    scan.document.intake = "scanner";
    scan.document.name = "scanner";
    scan.records.scans = {{"counter-1", stock, "", from_millis(kStart + at * 1000), {}}};
    return scan;
  }
};

TEST_F(ByHand, ADecisionIsANewOutcomeWithTheEvidenceOfTheMoment) {
  measure_twice("R1042", Finding::kNatural, Finding::kSimulant);
  const model::Outcome before = last_outcome("R1042");
  ASSERT_EQ(before.decision.disposition, Disposition::kRefer);
  fresh_.clear();
  const HandFate fate = decide("R1042", Disposition::kRelease);
  EXPECT_EQ(fate.kind, Kind::kDone);
  EXPECT_EQ(fate.key, "R1042");
  EXPECT_EQ(fate.sequence, 3);
  const model::Outcome outcome = last_outcome("R1042");
  EXPECT_EQ(outcome.sequence, 3);
  EXPECT_EQ(outcome.decision.disposition, Disposition::kRelease);
  EXPECT_EQ(outcome.decision.reason, "decided_by_hand");
  EXPECT_EQ(outcome.decision.rule, 0);
  EXPECT_EQ(outcome.decision.evidence, before.decision.evidence);
  EXPECT_EQ(outcome.previous, Disposition::kRefer);
  EXPECT_EQ(outcome.by_hand, (model::ByHand{"Kim", "seen under the microscope"}));
  EXPECT_EQ(ledger_->outcome(fate.case_number, 3)->value().hand->token, "counter-1");
  EXPECT_EQ(ledger_->outcome(fate.case_number, 3)->value().measured->size(), 2u);
  EXPECT_EQ(ledger_->outcome(fate.case_number, 2)->value().decision.disposition, Disposition::kRefer) << "never an edit";
  ledger::Filter filter;
  filter.case_number = fate.case_number;
  std::vector<int64_t> told;
  ASSERT_TRUE(ledger_->page_of_deliveries(filter, {}, [&](const ledger::DeliveryLine& line) { told.push_back(line.row.sequence); }).ok());
  EXPECT_THAT(told, testing::ElementsAre(3, 2, 1)) << "delivered like any other";
}

TEST_F(ByHand, ADecisionSaysWhoAndWhyAndWhatThePolicySays) {
  measure_twice("R1042", Finding::kNatural, Finding::kSimulant);
  const HandFate fate = decide("R1042", Disposition::kRelease);
  HouseShelf shelf(*ledger_);
  const auto told = told_outcome(*ledger_, shelf, fate.case_number, fate.sequence, "quay-street");
  ASSERT_TRUE(told.ok());
  ASSERT_GE(told->reasons.size(), 4u);
  EXPECT_EQ(told->reasons[0], (model::Reason{"decided_by_hand", "Decided by hand by Kim: seen under the microscope."}));
  EXPECT_EQ(told->reasons[1].code, "seen");
  EXPECT_EQ(told->reasons[2].code, "asked");
  EXPECT_EQ(told->reasons[3].code, "rule");
  EXPECT_THAT(told->reasons[3].text, HasSubstr("The policy says refer (findings_differ) of the same evidence. Rule 4 decided"));
  for (const model::Reason& reason : told->reasons) EXPECT_NE(reason.code, "would_change");
}

TEST_F(ByHand, ADecisionIsRefusedWhereThePersonSawAnOlderOutcome) {
  measure(1, "R1042", Finding::kNatural);
  const auto seen = last_case("R1042");
  measure(2, "R1042", Finding::kSimulant);
  const HandFate fate = decide({seen.number, seen.sequence, Disposition::kRelease, kKim});
  EXPECT_EQ(fate.kind, Kind::kConflict);
  EXPECT_THAT(fate.text, HasSubstr("the last outcome of the case is number 2, not 1"));
  EXPECT_EQ(last_outcome("R1042").sequence, 2);
}

// The record and the decision may wait for the same commit.
TEST_F(ByHand, ADecisionIsRefusedWhereARecordOfTheSameTransactionChangesTheCase) {
  measure(1, "R1042", Finding::kNatural);
  const auto seen = last_case("R1042");
  const Batch late = document({reading("2", 60, "R1042", Finding::kSimulant)});
  ASSERT_TRUE(ledger_->begin().ok());
  ASSERT_TRUE(recorder_->add(late).ok());
  const auto fate = recorder_->decide_by_hand({seen.number, seen.sequence, Disposition::kRelease, kKim}, fresh_, 1000);
  ASSERT_TRUE(fate.ok());
  EXPECT_EQ(fate->kind, Kind::kConflict);
  ASSERT_TRUE(recorder_->settle(fresh_, 1000).ok());
  ASSERT_TRUE(ledger_->commit().ok());
  recorder_->committed();
  EXPECT_EQ(last_outcome("R1042").decision.disposition, Disposition::kRefer);
}

TEST_F(ByHand, ACaseThatEndedCannotBeDecided) {
  const int64_t day = 86'400;
  record({document({reading("1", 0, "R1042", Finding::kNatural)})});
  record({document({reading("2", 40 * day, "R1042", Finding::kNatural)})});
  record({document({reading("3", 20 * day, "R1042", Finding::kNatural)})});
  const HandFate merged = decide("R1042", Disposition::kRelease);
  EXPECT_EQ(merged.kind, Kind::kConflict);
  EXPECT_THAT(merged.text, HasSubstr("the case became part of the case " + ledger_->name()));
  measure(9, "R7", Finding::kNatural);
  record({document({reading("9", 540, "R8", Finding::kNatural)}, 99)});
  EXPECT_EQ(decide("R7", Disposition::kRelease).kind, Kind::kConflict) << "its reading belongs to R8";
  EXPECT_EQ(decide({1 << 20, 1, Disposition::kHold, kKim}).kind, Kind::kNotFound);
}

TEST_F(ByHand, WhoAndWhyMustBeSaid) {
  measure(1, "R1042", Finding::kNatural);
  const auto seen = last_case("R1042");
  for (const api::By& by : {api::By{"", "why", ""}, api::By{"Kim", "", ""}, api::By{"Kim", " ", ""}, api::By{"Kim\n", "why", ""},
                            api::By{"Kim", std::string(501, 'x'), ""}, api::By{std::string(101, 'x'), "why", ""},
                            api::By{"Kim", "\xff", ""}}) {
    EXPECT_EQ(decide({seen.number, seen.sequence, Disposition::kHold, by}).kind, Kind::kRefused) << by.who << " " << by.why;
    EXPECT_EQ(bind({1, "R1", "", by}).kind, Kind::kRefused);
  }
}

// The same of the same evidence: a duplicate, a list that repeats its claim, a look at the case without news.
TEST_F(ByHand, ADecisionStandsWhileThePolicySaysTheSameOfTheSameEvidence) {
  measure_twice("R1042", Finding::kNatural, Finding::kSimulant);
  ASSERT_EQ(decide("R1042", Disposition::kRelease).kind, Kind::kDone);
  record({document({reading("2", 120, "R1042", Finding::kSimulant)}, 900)});
  EXPECT_EQ(last_outcome("R1042").sequence, 3);
  ASSERT_TRUE(ledger_->begin().ok());
  ASSERT_TRUE(recorder_->bind({reading_of_run("2"), "R1042", "", kKim}).ok());
  ASSERT_TRUE(recorder_->settle(fresh_, 1000).ok());
  ASSERT_TRUE(ledger_->commit().ok());
  recorder_->committed();
  record({document({reading("1", 60, "R1042", Finding::kNatural)}, -5)});
  EXPECT_EQ(last_outcome("R1042").sequence, 3);
  EXPECT_EQ(last_outcome("R1042").decision.disposition, Disposition::kRelease);
}

// Promise 7: doubt never releases, a person's release of yesterday included.
TEST_F(ByHand, ADecisionEndsWithAnyNewEvidence) {
  const auto hold_and_release = [&](const std::string& stock) {
    EXPECT_EQ(decide(stock, Disposition::kRelease).kind, Kind::kDone);
    EXPECT_EQ(last_outcome(stock).decision.disposition, Disposition::kRelease);
  };
  measure_twice("R1042", Finding::kNatural, Finding::kSimulant);
  hold_and_release("R1042");
  measure(3, "R1042", Finding::kNatural);
  EXPECT_EQ(last_outcome("R1042").decision.reason, "findings_differ") << "a new reading";
  EXPECT_EQ(last_outcome("R1042").sequence, 4);
  EXPECT_EQ(last_outcome("R1042").previous, Disposition::kRelease);
  EXPECT_EQ(last_outcome("R1042").by_hand, std::nullopt);

  hold_and_release("R1042");
  record({document({reading("3", 180, "R1042", Finding::kVoid)}, 2000)});
  EXPECT_EQ(last_outcome("R1042").decision.reason, "findings_differ") << "a correction";
  EXPECT_EQ(last_outcome("R1042").sequence, 6);

  hold_and_release("R1042");
  Batch list;
  list.document.intake = "stock";
  list.document.name = "list";
  list.records.declarations.emplace_back().stock_number = "R1042";
  list.records.declarations.back().identity = Finding::kNatural;
  record({list});
  EXPECT_EQ(last_outcome("R1042").decision.reason, "findings_differ") << "a declaration";
  EXPECT_EQ(last_outcome("R1042").sequence, 8);

  hold_and_release("R1042");
  record({document({reading("3", 180, "R9", Finding::kVoid)}, 3000)});
  EXPECT_EQ(last_outcome("R1042").decision.reason, "findings_differ") << "a reading that went";
  EXPECT_EQ(last_outcome("R1042").sequence, 10);
}

TEST_F(ByHand, OneDecisionAfterAnotherEndsLikeOne) {
  measure_twice("R1042", Finding::kNatural, Finding::kSimulant);
  decide("R1042", Disposition::kRelease);
  decide("R1042", Disposition::kReject);
  record({document({reading("2", 120, "R1042", Finding::kSimulant)}, 900)});
  EXPECT_EQ(last_outcome("R1042").sequence, 4) << "a duplicate is no news";
  EXPECT_EQ(last_outcome("R1042").decision.disposition, Disposition::kReject);
  measure(3, "R1042", Finding::kNatural);
  EXPECT_EQ(last_outcome("R1042").sequence, 5);
  EXPECT_EQ(last_outcome("R1042").decision.disposition, Disposition::kRefer);
}

TEST_F(ByHand, AReadingWithoutAStockNumberGetsTheOneThatAPersonGives) {
  measure(1, "", Finding::kNatural);
  const HandFate fate = bind("1", "R1042");
  EXPECT_EQ(fate.kind, Kind::kDone);
  EXPECT_EQ(fate.key, "R1042");
  EXPECT_EQ(fate.case_number, last_case("R1042").number);
  EXPECT_EQ(fate.sequence, 1);
  EXPECT_EQ(last_outcome("R1042").decision.evidence.valid, 1);
  bind("1", "R1043");
  EXPECT_EQ(last_outcome("R1043").decision.evidence.valid, 1) << "the last word counts";
  EXPECT_EQ(last_outcome("R1042").decision.evidence.valid, 0);
  const HandFate piece = bind({reading_of_run("1"), "R1044", "2", kKim});
  EXPECT_EQ(piece.key, "R1044#2");
}

TEST_F(ByHand, ARecordThatGivesAStockNumberIsNotBound) {
  measure(1, "R7", Finding::kNatural);
  const HandFate fate = bind("1", "R1042");
  EXPECT_EQ(fate.kind, Kind::kConflict);
  EXPECT_THAT(fate.text, HasSubstr("the record itself says that it is of \"R7\""));
  EXPECT_FALSE(ledger_->find_subject("R1042").has_value());
  EXPECT_EQ(bind({99, "R1042", "", kKim}).kind, Kind::kNotFound);
  for (const std::string& stock : {std::string(), std::string(" R1"), std::string("R\n1"), std::string(201, 'R')}) {
    EXPECT_EQ(bind({1, stock, "", kKim}).kind, Kind::kRefused);
  }
}

TEST_F(ByHand, APersonsWordComesBeforeAnyScanWhateverComesLater) {
  record({scan_of("R7", 50)});
  measure(1, "", Finding::kNatural);
  EXPECT_EQ(last_outcome("R7").decision.evidence.valid, 1);
  bind("1", "R1042");
  EXPECT_EQ(last_outcome("R1042").decision.evidence.valid, 1);
  EXPECT_EQ(last_outcome("R7").decision.evidence.valid, 0);
  record({scan_of("R8", 55)});
  start();
  record({scan_of("R9", 58)});
  EXPECT_EQ(last_outcome("R1042").decision.evidence.valid, 1);
  EXPECT_FALSE(ledger_->find_subject("R8").has_value());
}

TEST_F(ByHand, ASecondRouteGoesAlongWithABinding) {
  record({document({reading("1", 0, "", Finding::kNatural)}, 1, "line")});
  bind("1", "R1042");
  model::Reading by_file = reading("", 3, "", Finding::kNatural);
  by_file.color = "F";
  record({document({by_file}, 2, "exports")});
  EXPECT_EQ(last_outcome("R1042").decision.evidence.valid, 1) << "one measurement by two routes";
  EXPECT_EQ(last_outcome("R1042").decision.evidence.stone.color, "F");
}

TEST_F(ByHand, ABindingHoldsForACorrectionOfTheRunToo) {
  measure(1, "", Finding::kNatural);
  bind("1", "R1042");
  record({document({reading("1", 70, "", Finding::kSimulant)}, 500)});
  EXPECT_EQ(last_outcome("R1042").decision.evidence.finding, model::Evidence::Common::kSimulant);
  record({document({reading("1", 80, "R7", Finding::kSimulant)}, 900)});
  EXPECT_EQ(last_outcome("R7").decision.evidence.valid, 1) << "the record itself says it now";
  EXPECT_EQ(last_outcome("R1042").decision.evidence.valid, 0);
}

// Promise 3, with what persons say as given: whenever they say it, and whatever they decide in between, the policy's last
// word of each case is the one of the whole set.
TEST_F(ByHand, OrderOfArrivalDoesNotMatterWithBindingsAndDecisions) {
  const auto [first, end] = seeds(400);
  int bound = 0, decided = 0, stood = 0;
  for (unsigned seed = first; seed < end; ++seed) {
    std::mt19937 random(seed);
    std::vector<Batch> documents = random_documents(random);
    HandBindings bindings;
    for (const Batch& batch : documents) {
      for (const model::Reading& r : batch.records.readings) {
        if (!r.stock_number.empty() || random() % 2) continue;
        bindings.emplace(run_or_record(r), std::pair("R10" + std::to_string(random() % 3), random() % 2 ? "1" : ""));
      }
    }
    const ExpectedCases expected = whole_set(documents, *house_, bindings);
    for (int order = 0; order < 2; ++order) {
      open();
      std::shuffle(documents.begin(), documents.end(), random);
      HandBindings left = bindings;
      for (size_t i = 0; i < documents.size();) {
        const size_t take = std::min<size_t>(1 + random() % 6, documents.size() - i);
        record(std::span(documents).subspan(i, take));
        i += take;
        bound += bind_some(left, i == documents.size() ? 1 : 3, random);
        for (const std::string& key : random_keys()) {
          if (random() % 8 != 0 || !ledger_->find_subject(key)) continue;
          decided += decide(key, static_cast<Disposition>(random() % 5)).kind == Kind::kDone;
        }
        if (random() % 16 == 0) start();
        if (HasFatalFailure()) return;
      }
      ASSERT_TRUE(left.empty());
      const ExpectedCases stored = stored_cases(*ledger_);
      ASSERT_TRUE(stored == expected) << "seed " << seed << " order " << order << "\nexpected\n" << told(expected) << "stored\n" << told(stored);
      for (const std::string& key : random_keys()) stood += last_outcome(key).by_hand.has_value();
    }
  }
  EXPECT_GT(bound, 1000) << "hardly anything was bound";
  EXPECT_GT(decided, 500) << "hardly anything was decided";
  EXPECT_GT(stood, 100) << "hardly any decision stood to the end";
}

}  // namespace
}  // namespace girdle::service
