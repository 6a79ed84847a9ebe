// Deliveries: heads, marks, attempts, and the outlets that they go to.
#include "ledger/delivery_table.h"

namespace girdle::ledger {
namespace {

using base::from_millis;
using model::DeliveryState;

class Deliveries : public DeliveryTable {};

constexpr auto kWaiting = DeliveryState::kWaiting;
constexpr auto kSent = DeliveryState::kSent;
constexpr auto kParked = DeliveryState::kParked;
constexpr auto kSkipped = DeliveryState::kSkipped;

TEST_F(Deliveries, EveryWayToEndMakesTheNextOneTheHead) {
  const auto ids = add_many(4);
  EXPECT_EQ(mark(ids[0], kSent, 2000), ids[1]);
  EXPECT_EQ(mark(ids[1], kSkipped, 3000), ids[2]);
  EXPECT_EQ(mark(ids[2], kParked, 4000), ids[3]);
  EXPECT_EQ(told(ids), (std::vector<std::string>{"sent", "skipped", "parked", "waiting due 4000"}));
  EXPECT_EQ(mark(ids[3], kWaiting, 5000), 0);
  EXPECT_EQ(mark(ids[3], kSent, 6000), 0);
}

TEST_F(Deliveries, AMarkKeepsTheReceiversReferenceUntilThereIsAnother) {
  DeliveryRow r = row(add(1));
  EXPECT_EQ(r.reference, "");
  for (const auto& [told, kept] : {std::pair("A-1", "A-1"), {"", "A-1"}, {"A-2", "A-2"}}) {
    r.reference = told;
    ASSERT_TRUE(ledger_->mark_delivery(r).ok());
    EXPECT_EQ(row(r.id).reference, kept);
  }
}

TEST_F(Deliveries, ThatWaitForTheirNextAttemptAreDueWhenAPersonSaysSo) {
  const auto ids = add_many(2);
  const Number elsewhere = add_to(inventory_, 1);
  mark(ids[0], kWaiting, 90'000);
  mark(elsewhere, kWaiting, 90'000);
  auto hastened = ledger_->hasten(till_, from_millis(7000));
  ASSERT_TRUE(hastened.ok());
  EXPECT_EQ(*hastened, 1);  // the second of the case waits for the first, and the other outlet was not meant
  EXPECT_EQ(*row(ids[0]).due, from_millis(7000));
  EXPECT_FALSE(row(ids[1]).due);
  EXPECT_GT(*row(elsewhere).due, from_millis(90'000));
}

TEST_F(Deliveries, AreOvertakenWhereALaterOneOfTheirCaseWaitsForTheirOutlet) {
  const auto ids = add_many(3);
  const Number elsewhere = add_to(inventory_, 2);
  add(9, kCase + 1);
  EXPECT_TRUE(*ledger_->is_overtaken(row(ids[0])));
  EXPECT_TRUE(*ledger_->is_overtaken(row(ids[1])));
  EXPECT_FALSE(*ledger_->is_overtaken(row(ids[2])));
  EXPECT_FALSE(*ledger_->is_overtaken(row(elsewhere)));
  mark_all(ids, {kSkipped, kSkipped, kSent});
  const Number again = add(4);
  EXPECT_FALSE(*ledger_->is_overtaken(row(again))) << "those that wait no more, and earlier ones, do not overtake";
}

TEST_F(Deliveries, OnlyTheLatestOutcomeGoesWhereTheOvertakenOnesAreSkipped) {
  add_many(4);
  std::vector<int64_t> sent;
  for (auto heads = due(till_, 9000); !heads.empty(); heads = due(till_, 9000)) {
    const DeliveryRow head = row(heads.front());
    const bool overtaken = *ledger_->is_overtaken(head);
    if (!overtaken) sent.push_back(head.sequence);
    mark(head.id, overtaken ? kSkipped : kSent);
  }
  EXPECT_EQ(sent, std::vector<int64_t>{4});
}

TEST_F(Deliveries, DueHeadsComeByTimeThenNumberWithoutThoseThatAreExcepted) {
  std::vector<Number> ids;
  for (const int64_t at : {3000, 1000, 2000, 1000}) ids.push_back(add(1, kCase + static_cast<Number>(ids.size()), at));
  EXPECT_EQ(due(till_, 9000), (std::vector<Number>{ids[1], ids[3], ids[2], ids[0]}));
  base::Instant next{};
  EXPECT_EQ(due(till_, 9000, 1, {ids[3], ids[1]}, &next), std::vector<Number>{ids[2]});
  EXPECT_EQ(next, from_millis(3000)) << "the first that is left over";
  EXPECT_EQ(due(till_, 1500, 9, {ids[3]}, &next), std::vector<Number>{ids[1]});
  EXPECT_EQ(next, from_millis(2000));
  EXPECT_EQ(due(till_, 1500, 9, ids, &next), std::vector<Number>());
  EXPECT_EQ(next, base::Instant::max()) << "those that are excepted do not come due";
  EXPECT_EQ(due(till_, 500, 9, {ids[1], ids[3]}, &next), std::vector<Number>());
  EXPECT_EQ(next, from_millis(2000));
  EXPECT_EQ(due(inventory_, 9000), std::vector<Number>());
}

TEST_F(Deliveries, EveryAttemptIsKeptWithWhatCameOfIt) {
  DeliveryRow r = row(add(1));
  const std::vector<AttemptRow> attempts{
      {0, 0, from_millis(5000), base::Millis(30'000), 0, "no answer in time", ""},
      {0, 0, from_millis(9000), base::Millis(12), 503, "answered 503", std::string("<h\0\xff", 4)},
      {0, 0, from_millis(8000), base::Millis(7), 204, "", ""},
  };
  for (const AttemptRow& attempt : attempts) {
    ++r.attempts;
    ASSERT_TRUE(ledger_->mark_delivery(r, &attempt).ok());
  }
  const auto kept = ledger_->attempts_of(r.id);
  ASSERT_TRUE(kept.ok());
  ASSERT_EQ(kept->size(), attempts.size());
  for (size_t i = 0; i < attempts.size(); ++i) {
    const AttemptRow& made = attempts[i];
    const AttemptRow& found = kept->at(i);
    EXPECT_EQ(found.delivery, r.id);
    EXPECT_EQ(found.number, static_cast<int64_t>(i + 1));
    EXPECT_EQ(std::tie(found.at, found.took, found.status, found.note, found.answer),
              std::tie(made.at, made.took, made.status, made.note, made.answer));
  }
  EXPECT_EQ(row(r.id).made, 3);
  EXPECT_TRUE(ledger_->attempts_of(r.id + 1)->empty());
}

TEST_F(Deliveries, OfALongAnswerTheFirstBytesAreKept) {
  DeliveryRow r = row(add(1));
  AttemptRow attempt;
  attempt.answer = std::string(Ledger::kMostAnswer, 'a') + std::string(70'000, 'b');
  ASSERT_TRUE(ledger_->mark_delivery(r, &attempt).ok());
  EXPECT_EQ(ledger_->attempts_of(r.id)->at(0).answer, std::string(Ledger::kMostAnswer, 'a'));
}

TEST_F(Deliveries, AMarkWithoutAnAttemptCountsNone) {
  DeliveryRow r = row(add(1));
  r.state = kSkipped;
  ASSERT_TRUE(ledger_->mark_delivery(r).ok());
  EXPECT_TRUE(ledger_->attempts_of(r.id)->empty());
  EXPECT_EQ(row(r.id).made, 0);
}

TEST_F(Deliveries, AnOutletIsPausedWithAReasonUntilItIsResumed) {
  EXPECT_EQ(ledger_->outlet_paused(till_), "");
  EXPECT_TRUE(*ledger_->pause_outlet(till_, "stock-taking", from_millis(500)));
  EXPECT_FALSE(*ledger_->pause_outlet(till_, "again", from_millis(900))) << "the first reason stays";
  EXPECT_EQ(ledger_->outlet_paused(till_), "stock-taking");
  EXPECT_EQ(ledger_->outlet_paused(inventory_), "");
  EXPECT_EQ(ledger_->outlet_closed(till_), "");
  const auto outlets = ledger_->outlets();
  ASSERT_TRUE(outlets.ok());
  ASSERT_EQ(outlets->size(), 2u);
  EXPECT_EQ(outlets->at(0).name, "till");
  EXPECT_EQ(outlets->at(0).paused, "stock-taking");
  EXPECT_EQ(outlets->at(0).paused_at, from_millis(500));
  EXPECT_EQ(outlets->at(1).name, "inventory");
  EXPECT_EQ(outlets->at(1).paused_at, std::nullopt);
  EXPECT_TRUE(*ledger_->resume_outlet(till_));
  EXPECT_FALSE(*ledger_->resume_outlet(till_));
  EXPECT_EQ(ledger_->outlet_paused(till_), "");
}

TEST_F(Deliveries, APauseWithoutAReasonIsAPause) {
  EXPECT_TRUE(*ledger_->pause_outlet(till_, "", from_millis(500)));
  EXPECT_NE(ledger_->outlet_paused(till_), "");
}

TEST_F(Deliveries, ResumingOpensAClosedOutletToo) {
  ASSERT_TRUE(ledger_->close_outlet(till_, "it answered 410: gone").ok());
  EXPECT_TRUE(*ledger_->pause_outlet(till_, "stock-taking", from_millis(500)));
  EXPECT_EQ(ledger_->outlet_closed(till_), "it answered 410: gone") << "a pause takes nothing away";
  EXPECT_TRUE(*ledger_->resume_outlet(till_));
  EXPECT_EQ(ledger_->outlet_closed(till_) + ledger_->outlet_paused(till_), "");
  EXPECT_FALSE(*ledger_->resume_outlet(till_ + 100)) << "there is no such outlet";
}

// 2026-11-02 is day 20,759 since 1970: `date -u -d @1793577600` of GNU coreutils 9.1 says Mon Nov 2 00:00:00 UTC 2026.
constexpr int64_t kMidnight = 1'793'577'600'000;

class Folding : public DeliveryTable {
 protected:
  void attempt(Number id, int64_t at, int64_t took, int status) {
    DeliveryRow r = row(id);
    ++r.attempts;
    const AttemptRow attempt{0, 0, from_millis(at), base::Millis(took), status, "", ""};
    ASSERT_TRUE(ledger_->mark_delivery(r, &attempt).ok());
  }

  int64_t fold(int64_t until, int64_t limit = 1000) {
    const auto folded = ledger_->fold_attempts(from_millis(until), limit);
    EXPECT_TRUE(folded.ok()) << (folded ? "" : folded.error().text);
    return folded ? *folded : -1;
  }

  std::vector<std::string> counts() {
    std::vector<std::string> told;
    EXPECT_TRUE(ledger_
                    ->each_attempt_count([&](const AttemptCount& c) {
                      told.push_back(c.outlet + " " + c.day + " " + std::to_string(c.status) + " " +
                                     std::to_string(c.count) + " in " + std::to_string(c.took.count()));
                    })
                    .ok());
    return told;
  }
};

TEST_F(Folding, CountsByOutletDayAndStatusWhatIsOlder) {
  const Number till = add(1), inventory = add_to(inventory_, 1);
  attempt(till, kMidnight - 1, 5, 503);
  attempt(till, kMidnight, 10, 503);
  attempt(till, kMidnight + 86'399'999, 20, 503);
  attempt(till, kMidnight + 86'400'000, 40, 204);
  attempt(inventory, kMidnight + 1, 7, 0);
  EXPECT_EQ(counts(), std::vector<std::string>());
  EXPECT_EQ(fold(kMidnight - 1), 0) << "from before, not at";
  EXPECT_EQ(fold(kMidnight + 86'400'000), 4);
  EXPECT_EQ(counts(), (std::vector<std::string>{"inventory 2026-11-02 0 1 in 7", "till 2026-11-01 503 1 in 5",
                                                "till 2026-11-02 503 2 in 30"}));
  ASSERT_EQ(ledger_->attempts_of(till)->size(), 1u);
  EXPECT_EQ(ledger_->attempts_of(till)->at(0).number, 4);
  EXPECT_EQ(row(till).attempts, 4) << "what the delivery itself tells stays";
  EXPECT_EQ(fold(kMidnight + 86'400'001), 1);
  EXPECT_EQ(counts().back(), "till 2026-11-03 204 1 in 40");
}

TEST_F(Folding, TakesTheOldestFirstAndNoMoreThanItMay) {
  const Number id = add(1);
  for (const int64_t minute : {5, 1, 4, 2, 3}) attempt(id, kMidnight + minute * 60'000, minute, 200);
  EXPECT_EQ(fold(kMidnight + 3'600'000, 2), 2);
  EXPECT_EQ(counts(), std::vector<std::string>{"till 2026-11-02 200 2 in 3"});
  EXPECT_EQ(fold(kMidnight + 3'600'000, 2), 2);
  EXPECT_EQ(counts(), std::vector<std::string>{"till 2026-11-02 200 4 in 10"}) << "counts grow";
  EXPECT_EQ(ledger_->attempts_of(id)->at(0).took, base::Millis(5));
  EXPECT_EQ(fold(kMidnight + 3'600'000, 2), 1);
  EXPECT_EQ(fold(kMidnight + 3'600'000, 2), 0);
}

// The clock was a year ahead for a while.
TEST_F(Folding, AnAttemptFromTheFutureHoldsUpNoOther) {
  const Number id = add(1);
  attempt(id, kMidnight + 365 * 86'400'000LL, 1, 200);
  attempt(id, kMidnight, 2, 200);
  EXPECT_EQ(fold(kMidnight + 1, 1), 1);
  EXPECT_EQ(counts(), std::vector<std::string>{"till 2026-11-02 200 1 in 2"});
  EXPECT_EQ(fold(kMidnight + 1, 1), 0);
}

TEST_F(Folding, ANumberIsNotGivenAgainAfterIt) {
  const Number id = add(1);
  attempt(id, kMidnight, 1, 503);
  EXPECT_EQ(fold(kMidnight + 1), 1);
  attempt(id, kMidnight + 1, 1, 204);
  EXPECT_EQ(ledger_->attempts_of(id)->at(0).number, 2);
}

class DeliveryList : public DeliveryTable {
 protected:
  DeliveryList() {
    for (const char* const key : {"R1042", "R1042#2", "R1043"}) {
      bool fresh = false;
      subjects_.push_back(*ledger_->subject(key, &fresh));
    }
    for (const Number subject : subjects_) {
      for (int64_t sequence = 1; sequence <= 2; ++sequence) {
        ids_.push_back(add(sequence, first_case_of(subject)));
        ids_.push_back(add_to(inventory_, sequence, first_case_of(subject)));
      }
    }
    // 1 to 12: R1042-1 till, inventory, R1042-2 till, inventory, and so on.
    mark(1, kSent, 2000);
    mark(3, kParked, 3000);
    mark(5, kSkipped, 4000);
  }

  std::vector<Number> listed(const Filter& filter) {
    std::vector<Number> ids;
    const auto done = ledger_->each_delivery(filter, [&](const DeliveryRow& row, const std::string& outlet, const std::string& key) {
      ids.push_back(row.id);
      EXPECT_EQ(outlet, row.outlet == till_ ? "till" : "inventory");
      EXPECT_EQ(key, ledger_->subject_key(subject_of(row.case_number)));
    });
    EXPECT_TRUE(done.ok()) << (done ? "" : done.error().text);
    return ids;
  }

  std::vector<Number> subjects_, ids_;
};

TEST_F(DeliveryList, HasAllTheNewestFirst) {
  EXPECT_EQ(listed({}), (std::vector<Number>{12, 11, 10, 9, 8, 7, 6, 5, 4, 3, 2, 1}));
  Filter few;
  few.limit = 2;
  EXPECT_EQ(listed(few), (std::vector<Number>{12, 11}));
}

TEST_F(DeliveryList, EachFilterNarrowsItAndAllHoldTogether) {
  Filter filter;
  filter.outlet = "till";
  EXPECT_EQ(listed(filter), (std::vector<Number>{11, 9, 7, 5, 3, 1}));
  filter.word = "waiting";
  EXPECT_EQ(listed(filter), (std::vector<Number>{11, 9, 7}));
  filter.stock_number = "R1042*";
  EXPECT_EQ(listed(filter), std::vector<Number>{7});
  filter.word = "";
  EXPECT_EQ(listed(filter), (std::vector<Number>{7, 5, 3, 1}));
  filter.stock_number = "R1042";
  EXPECT_EQ(listed(filter), (std::vector<Number>{3, 1}));
  filter.since = from_millis(2500);
  EXPECT_EQ(listed(filter), std::vector<Number>{3}) << "by the last change";
  filter.until = from_millis(2999);
  EXPECT_EQ(listed(filter), std::vector<Number>());
}

TEST_F(DeliveryList, FindsEveryState) {
  Filter filter;
  for (const auto& [word, found] : {std::pair<const char*, std::vector<Number>>{"sent", {1}},
                                    {"parked", {3}},
                                    {"skipped", {5}},
                                    {"waiting", {12, 11, 10, 9, 8, 7, 6, 4, 2}}}) {
    filter.word = word;
    EXPECT_EQ(listed(filter), found) << word;
  }
}

TEST_F(DeliveryList, FindsTheDeliveriesOfACase) {
  Filter filter;
  filter.case_number = first_case_of(subjects_[1]);
  EXPECT_EQ(listed(filter), (std::vector<Number>{8, 7, 6, 5}));
  filter.word = "waiting";
  filter.outlet = "inventory";
  EXPECT_EQ(listed(filter), (std::vector<Number>{8, 6}));
}

TEST_F(DeliveryList, WhatNobodyKnowsHasNoDeliveries) {
  for (const auto member : {&Filter::word, &Filter::outlet, &Filter::stock_number}) {
    Filter filter;
    filter.*member = "wating";
    EXPECT_EQ(listed(filter), std::vector<Number>());
  }
}

TEST_F(DeliveryList, CountsTellTheStates) {
  const auto counts = ledger_->counts();
  ASSERT_TRUE(counts.ok());
  EXPECT_EQ(std::tuple(counts->waiting, counts->sent, counts->parked, counts->skipped), std::tuple(9, 1, 1, 1));
}

}  // namespace
}  // namespace girdle::ledger
