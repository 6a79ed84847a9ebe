// What persons say and are: tokens, bindings, outcomes by hand, documents that are tried again.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "ledger/ledger.h"
#include "raw.h"
#include "service/temp_ledger.h"

namespace girdle::ledger {
namespace {

using base::from_millis;
using testing::ElementsAre;

class Hands : public testing::Test {
 protected:
  Hands() : ledger_(temp_.open()) { EXPECT_TRUE(ledger_->begin().ok()); }

  void commit() { ASSERT_TRUE(ledger_->commit().ok() && ledger_->begin().ok()); }

  bool add_token(const std::string& name, const std::string& role = "work") {
    const auto added = ledger_->add_token(name, role, base::sha256(name + std::to_string(++tokens_)), from_millis(1000));
    EXPECT_TRUE(added.ok());
    return added.ok() && *added;
  }

  Number document(const std::string& name) {
    model::Document document;
    document.intake = "exports";
    document.name = name;
    document.digest = base::sha256(name);
    document.offset = 70;
    document.size = 3;
    document.came_at = from_millis(500);
    return *ledger_->add_document(*ledger_->intake("exports"), document, from_millis(600));
  }

  Number aside(Number document, uint64_t offset, const std::string& reason, int64_t at) {
    model::Aside aside;
    aside.place = {offset, 5, 2};
    aside.reason = reason;
    aside.bytes = "bytes";
    const auto added = ledger_->add_aside(*ledger_->intake("exports"), document, aside, from_millis(at));
    EXPECT_TRUE(added.ok());
    return added.ok() ? *added : 0;
  }

  // Of all asides: "7 open", "8 settled 2000".
  std::vector<std::string> told() {
    std::vector<std::string> all;
    EXPECT_TRUE(ledger_->page_of_asides({}, {}, [&](const AsideRow& row) {
      all.push_back(std::to_string(row.aside.place.offset) + " " + row.aside.reason +
                    (row.settled_at ? " settled " + std::to_string(base::to_millis(*row.settled_at)) : " open"));
      return true;
    }).ok());
    return all;
  }

  Number reading(const std::string& run, int64_t content) {
    StoredReading stored;
    stored.instrument = *ledger_->instrument("A-0117");
    stored.document = document("d" + std::to_string(content));
    stored.intake = *ledger_->intake("exports");
    stored.content = content;
    stored.reading.run = run;
    stored.reading.measured_at = from_millis(9000);
    return *ledger_->add_reading(stored, true);
  }

  TempLedger temp_;
  std::unique_ptr<Ledger> ledger_;
  int tokens_ = 0;
};

TEST_F(Hands, ATokensNameIsUniqueAmongThoseThatHold) {
  EXPECT_TRUE(add_token("counter-1"));
  EXPECT_FALSE(add_token("counter-1", "admin"));
  EXPECT_TRUE(*ledger_->revoke_token("counter-1", from_millis(2000)));
  EXPECT_FALSE(*ledger_->revoke_token("counter-1", from_millis(3000))) << "it is revoked already";
  EXPECT_FALSE(*ledger_->revoke_token("nobody", from_millis(3000)));
  EXPECT_TRUE(add_token("counter-1", "look"));
  const auto tokens = ledger_->tokens();
  ASSERT_TRUE(tokens.ok());
  ASSERT_EQ(tokens->size(), 2u);
  EXPECT_EQ(tokens->at(0).role, "work");
  EXPECT_EQ(tokens->at(0).digest, base::sha256("counter-11"));
  EXPECT_EQ(tokens->at(0).made_at, from_millis(1000));
  EXPECT_EQ(tokens->at(0).revoked_at, from_millis(2000));
  EXPECT_EQ(tokens->at(1).role, "look");
  EXPECT_EQ(tokens->at(1).revoked_at, std::nullopt);
}

TEST_F(Hands, ARoleThatThereIsNotIsAWrongCall) {
  const auto added = ledger_->add_token("x", "root", base::sha256("x"), from_millis(1));
  ASSERT_FALSE(added.ok());
  EXPECT_EQ(added.error().fault, base::Fault::kCall);
}

// Of three that were set aside one is met again, one is another now, one is none any more.
TEST_F(Hands, WhatIsNotMetAgainIsSettledOnceAllWasRead) {
  const Number of = document("a.csv"), other = document("b.csv");
  aside(of, 10, "no word for X", 1000);
  aside(of, 20, "no word for Y", 1000);
  aside(of, 30, "no date", 1000);
  aside(other, 10, "no word for X", 1000);
  const auto begun = ledger_->begin_again(of, from_millis(2000));
  ASSERT_TRUE(begun.ok());
  aside(of, 10, "no word for X", base::to_millis(*begun));
  aside(of, 20, "no carat", base::to_millis(*begun));
  EXPECT_THAT(told(), ElementsAre("20 no carat open", "10 no word for X open", "30 no date open", "20 no word for Y open",
                                  "10 no word for X open"))
      << "nothing is settled while some of it is still to be read";
  EXPECT_EQ(*ledger_->settle_asides(of, *begun), 2);
  EXPECT_THAT(told(), ElementsAre("20 no carat open", "10 no word for X open", "30 no date settled 2000",
                                  "20 no word for Y settled 2000", "10 no word for X open"));
  const auto first = ledger_->aside(1);
  EXPECT_EQ((*first)->tried_at, from_millis(2000));
  EXPECT_EQ((*ledger_->aside(4)).value().tried_at, std::nullopt) << "another document";
}

TEST_F(Hands, WhatWasSettledAndIsMetAgainIsOpenAgain) {
  const Number of = document("a.csv");
  aside(of, 10, "no word for X", 1000);
  ASSERT_EQ(*ledger_->settle_asides(of, *ledger_->begin_again(of, from_millis(2000))), 1);
  EXPECT_EQ(*ledger_->count_open_asides(10), 0);
  const auto begun = ledger_->begin_again(of, from_millis(3000));
  aside(of, 10, "no word for X", base::to_millis(*begun));
  EXPECT_EQ(*ledger_->settle_asides(of, *begun), 0);
  EXPECT_EQ(*ledger_->count_open_asides(10), 1);
}

// The clock may stand still, or be set back.
TEST_F(Hands, EachTryHasATimeOfItsOwn) {
  const Number of = document("a.csv");
  aside(of, 10, "no word for X", 1000);
  base::Instant last = from_millis(1000);
  for (const int64_t now : {1000, 1000, 500, 1000}) {
    const auto begun = ledger_->begin_again(of, from_millis(now));
    ASSERT_TRUE(begun.ok());
    EXPECT_GT(*begun, last);
    last = *begun;
    aside(of, 10, "no word for X", base::to_millis(*begun));
    EXPECT_EQ(*ledger_->settle_asides(of, *begun), 0);
  }
  EXPECT_EQ(*ledger_->settle_asides(of, *ledger_->begin_again(of, from_millis(1000))), 1);
}

TEST_F(Hands, ADocumentIsKeptAsItWas) {
  const Number of = document("a.csv");
  aside(of, 10, "no word for X", 1000);
  EXPECT_EQ(*ledger_->kept_document(of), std::nullopt);
  EXPECT_FALSE((*ledger_->aside(1))->is_kept);
  const std::string bytes("a\0\xff", 3);
  ASSERT_TRUE(ledger_->keep_document(of, "state", bytes).ok());
  ASSERT_TRUE(ledger_->keep_document(of, "", "other").ok()) << "the first stay";
  EXPECT_TRUE((*ledger_->aside(1))->is_kept);
  const auto kept = ledger_->kept_document(of);
  ASSERT_TRUE(kept.ok() && *kept);
  EXPECT_EQ((*kept)->bytes, bytes);
  EXPECT_EQ((*kept)->resume, "state");
  EXPECT_EQ((*kept)->document.intake, "exports");
  EXPECT_EQ((*kept)->document.name, "a.csv");
  EXPECT_EQ((*kept)->document.digest, base::sha256("a.csv"));
  EXPECT_EQ((*kept)->document.offset, 70u);
  EXPECT_EQ((*kept)->document.size, 3u);
  EXPECT_EQ((*kept)->document.came_at, from_millis(500));
}

TEST_F(Hands, TheLastBindingOfARunCountsForAllItsRecords) {
  const Number first = reading("17", 1), corrected = reading("17", 2), other = reading("18", 3);
  EXPECT_FALSE(ledger_->has_bindings());
  ASSERT_TRUE(ledger_->add_binding({0, first, "R1042", "", {"Kim", "label", "counter-1"}, from_millis(100)}).ok());
  ASSERT_TRUE(ledger_->add_binding({0, corrected, "R1043", "2", {"Ann", "tray", ""}, from_millis(200)}).ok());
  EXPECT_TRUE(ledger_->has_bindings());
  for (const Number id : {first, corrected}) {
    const auto binding = ledger_->binding_of(id);
    ASSERT_TRUE(binding.ok() && *binding);
    EXPECT_EQ((*binding)->stock_number, "R1043");
    EXPECT_EQ((*binding)->position, "2");
    EXPECT_EQ((*binding)->by, (Hand{"Ann", "tray", ""}));
    EXPECT_EQ((*binding)->at, from_millis(200));
  }
  EXPECT_EQ(*ledger_->binding_of(other), std::nullopt);
  const auto line = ledger_->reading_line(first);
  ASSERT_TRUE(line.ok() && *line);
  EXPECT_EQ((*line)->key, "") << "what a binding means casework says";
  EXPECT_EQ((*line)->binding->by.who, "Ann");
}

TEST_F(Hands, ReadingsOfOneMomentWithoutARunAreBoundEachAlone) {
  const Number first = reading("", 1), second = reading("", 2);
  ASSERT_TRUE(ledger_->add_binding({0, first, "R1042", "", {"Kim", "label", ""}, from_millis(100)}).ok());
  EXPECT_TRUE((*ledger_->binding_of(first)).has_value());
  EXPECT_EQ(*ledger_->binding_of(second), std::nullopt);
}

TEST_F(Hands, AnOutcomeSaysWhoDecidedItWhereAPersonDid) {
  bool fresh = false;
  const Number subject = *ledger_->subject("R1042", &fresh);
  CaseRow row;
  row.number = first_case_of(subject);
  row.sequence = 2;
  ASSERT_TRUE(ledger_->put_case(row, true).ok());
  OutcomeRow outcome;
  outcome.case_number = row.number;
  outcome.house = *ledger_->house({"default", "1", "sha256:00"}, "{}", from_millis(1));
  outcome.sequence = 1;
  outcome.decision.reason = kDecidedByHand;  // a house's own reason
  ASSERT_TRUE(ledger_->add_outcome(outcome).ok());
  outcome.sequence = 2;
  outcome.hand = Hand{"Kim", "seen under the microscope", "counter-1"};
  ASSERT_TRUE(ledger_->add_outcome(outcome).ok());
  EXPECT_EQ((*ledger_->outcome(row.number, 1))->hand, std::nullopt);
  EXPECT_EQ((*ledger_->outcome(row.number, 2))->hand, outcome.hand);
  EXPECT_EQ((*ledger_->case_line(row.number))->outcome.hand, outcome.hand);
  const auto full = ledger_->full_outcome(row.number, 2, "quay-street");
  ASSERT_TRUE(full.ok());
  EXPECT_EQ(full->by_hand, (model::ByHand{"Kim", "seen under the microscope"}));
  std::string json;
  model::write_json(json, *full);
  EXPECT_THAT(json, testing::HasSubstr(R"("reasons":[],"by_hand":{"who":"Kim","why":"seen under the microscope"},"readings")"));
  json.clear();
  model::write_json(json, *ledger_->full_outcome(row.number, 1, "quay-street"));
  EXPECT_THAT(json, testing::HasSubstr(R"("by_hand":null,)"));
  std::vector<std::optional<Hand>> walked;
  ASSERT_TRUE(ledger_->each_history([&](const SubjectHistory& history) -> base::Result<void> {
    for (const OutcomeRow& one : history.outcomes) walked.push_back(one.hand);
    return {};
  }).ok());
  EXPECT_THAT(walked, ElementsAre(std::nullopt, outcome.hand));
}

TEST_F(Hands, ATransactionThatIsRolledBackCountsNothing) {
  const Number till = *ledger_->outlet("till");
  bool head = false;
  const auto add = [&](int64_t sequence) { return *ledger_->add_delivery(till, 1 << 16, sequence, from_millis(1000), &head); };
  const Number kept = add(1);
  commit();
  add(2);
  DeliveryRow sent;
  sent.id = kept;
  sent.state = model::DeliveryState::kSent;
  const AttemptRow attempt{0, 0, from_millis(5), base::Millis(3), 200, "", "ok"};
  ASSERT_TRUE(ledger_->mark_delivery(sent, &attempt).ok());
  ledger_->rollback();
  ASSERT_TRUE(ledger_->begin().ok());
  commit();
  const auto totals = ledger_->outlet_totals(till);
  ASSERT_TRUE(totals.ok());
  EXPECT_EQ(totals->waiting, 1);
  EXPECT_EQ(totals->sent, 0);
  EXPECT_EQ(totals->last, std::nullopt);
}

TEST_F(Hands, AnOutletsTotalsFollowEveryChangeOfADelivery) {
  const Number till = *ledger_->outlet("till");
  bool head = false;
  std::vector<Number> ids;
  for (int64_t i = 1; i <= 4; ++i) ids.push_back(*ledger_->add_delivery(till, i << 16, 1, from_millis(1000 + i), &head));
  const auto mark = [&](Number id, model::DeliveryState state, int64_t began) {
    DeliveryRow row;
    row.id = id;
    row.state = state;
    row.attempts = 1;
    row.changed_at = from_millis(began + 10);
    const AttemptRow attempt{0, 0, from_millis(began), base::Millis(3), 503, "answered 503", "no"};
    ASSERT_TRUE(ledger_->mark_delivery(row, &attempt).ok());
  };
  mark(ids[0], model::DeliveryState::kSent, 2000);
  mark(ids[1], model::DeliveryState::kParked, 2200);
  mark(ids[2], model::DeliveryState::kSkipped, 2100);  // began before, is marked later
  commit();
  const auto told = [&] {
    const auto t = ledger_->outlet_totals(till);
    EXPECT_TRUE(t.ok());
    return std::vector<int64_t>{t->waiting, t->sent, t->parked, t->skipped};
  };
  EXPECT_THAT(told(), ElementsAre(1, 1, 1, 1));
  EXPECT_EQ(ledger_->outlet_totals(till)->last->delivery, ids[1]) << "the last to begin";
  EXPECT_EQ(ledger_->outlet_totals(till)->oldest_waiting_at, from_millis(1004));
  Selection parked;
  parked.parked = true;
  ASSERT_EQ(ledger_->resend(parked, from_millis(3000))->again, 1);
  mark(ids[3], model::DeliveryState::kWaiting, 3100);
  commit();
  EXPECT_THAT(told(), ElementsAre(2, 1, 0, 1));
  mark(ids[3], model::DeliveryState::kSent, 3200);
  commit();
  EXPECT_EQ(ledger_->outlet_totals(till)->oldest_waiting_at, from_millis(3000)) << "since it was sent again";
  mark(ids[1], model::DeliveryState::kWaiting, 3300);
  commit();
  EXPECT_EQ(ledger_->outlet_totals(till)->oldest_waiting_at, from_millis(3300)) << "the first attempt since then";
  for (int state = 0; state < 4; ++state) {
    EXPECT_EQ(value(temp_.path(), "SELECT count(*) FROM delivery WHERE state = " + std::to_string(state)),
              std::to_string(told()[static_cast<size_t>(state)]));
  }
  EXPECT_EQ((*ledger_->outlet_totals(till)).last->number, 2);
}

}  // namespace
}  // namespace girdle::ledger
