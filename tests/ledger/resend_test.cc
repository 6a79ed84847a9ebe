// Sending again: what goes, what stays because a later outcome has its place, and that the order per case holds.
#include <random>
#include <set>

#include "ledger/delivery_table.h"

namespace girdle::ledger {
namespace {

using base::from_millis;
using model::DeliveryState;

constexpr auto kWaiting = DeliveryState::kWaiting;
constexpr auto kSent = DeliveryState::kSent;
constexpr auto kParked = DeliveryState::kParked;
constexpr auto kSkipped = DeliveryState::kSkipped;

std::string text(const Resent& resent) {
  return std::to_string(resent.again) + " again, " + std::to_string(resent.overtaken) + " overtaken, " +
         std::to_string(resent.waiting) + " waiting";
}

Selection all_parked() {
  Selection selection;
  selection.parked = true;
  return selection;
}

Selection one(Number delivery) {
  Selection selection;
  selection.delivery = delivery;
  return selection;
}

Selection of_stock(const std::string& stock_number) {
  Selection selection;
  selection.stock_number = stock_number;
  return selection;
}

class Resend : public DeliveryTable {
 protected:
  // So that kCase is the case of a subject.
  Resend() {
    bool fresh = false;
    EXPECT_EQ(first_case_of(*ledger_->subject("R1042", &fresh)), kCase);
  }
};

TEST_F(Resend, ParkedOnesAfterWhichNothingWasSentGoAgainInTheirOrder) {
  const auto ids = add_many(5);
  mark_all(ids, {kSent, kSent, kSent, kParked, kParked});
  EXPECT_EQ(text(resend(all_parked())), "2 again, 0 overtaken, 0 waiting");
  EXPECT_EQ(told(ids), (std::vector<std::string>{"sent", "sent", "sent", "waiting due 9000", "waiting"}));
  EXPECT_EQ(mark(ids[3], kSent, 9500), ids[4]);
}

TEST_F(Resend, AParkedOneThatALaterOneOvertookStays) {
  const auto ids = add_many(3);
  mark_all(ids, {kParked, kParked, kSent});
  EXPECT_EQ(text(resend(all_parked())), "0 again, 2 overtaken, 0 waiting");
  EXPECT_EQ(told(ids), (std::vector<std::string>{"parked", "parked", "sent"}));
}

// The one that waits may be on the wire at this moment.
TEST_F(Resend, ALaterOneThatWaitsOvertakes) {
  const auto ids = add_many(2);
  mark(ids[0], kParked, 2000);
  EXPECT_EQ(text(resend(all_parked())), "0 again, 1 overtaken, 0 waiting");
  EXPECT_EQ(told(ids), (std::vector<std::string>{"parked", "waiting due 2000"}));
}

TEST_F(Resend, ALaterOneToAnotherOutletOrOfAnotherCaseDoesNotOvertake) {
  const Number parked = add(1);
  mark(parked, kParked);
  mark(add_to(inventory_, 2), kSent);
  mark(add(2, kCase + 1), kSent);
  EXPECT_EQ(text(resend(all_parked())), "1 again, 0 overtaken, 0 waiting");
}

TEST_F(Resend, OfTheSentOnesOnlyTheLastGoesAgain) {
  const auto ids = add_many(3);
  mark_all(ids, {kSent, kSent, kSent});
  EXPECT_EQ(text(resend(one(ids[1]))), "0 again, 1 overtaken, 0 waiting");
  EXPECT_EQ(text(resend(one(ids[2]))), "1 again, 0 overtaken, 0 waiting");
  EXPECT_EQ(told(ids), (std::vector<std::string>{"sent", "sent", "waiting due 9000"}));
}

TEST_F(Resend, ASentOneBeforeOneThatIsParkedStays) {
  const auto ids = add_many(2);
  mark_all(ids, {kSent, kParked});
  EXPECT_EQ(text(resend(one(ids[0]))), "0 again, 1 overtaken, 0 waiting") << "it is not the last word any more";
  EXPECT_EQ(text(resend(of_stock("R1042"))), "1 again, 1 overtaken, 0 waiting");
  EXPECT_EQ(told(ids), (std::vector<std::string>{"sent", "waiting due 9000"}));
}

// The receiver has the second already.
TEST_F(Resend, OneThatWasSentOnceOvertakesWhateverBecameOfItWhenItWasSentAgain) {
  const auto ids = add_many(2);
  mark_all(ids, {kParked, kSent});
  EXPECT_EQ(text(resend(one(ids[1]))), "1 again, 0 overtaken, 0 waiting");
  mark(ids[1], kParked);
  EXPECT_EQ(text(resend(all_parked())), "1 again, 1 overtaken, 0 waiting");
  EXPECT_EQ(told(ids), (std::vector<std::string>{"parked", "waiting due 9000"}));
}

TEST_F(Resend, ASkippedOneNeverGoesAgainAndOvertakesNone) {
  const auto ids = add_many(3);
  mark_all(ids, {kParked, kSkipped, kParked});
  EXPECT_EQ(text(resend(of_stock("R1042"))), "2 again, 1 overtaken, 0 waiting");
  EXPECT_EQ(told(ids), (std::vector<std::string>{"waiting due 9000", "skipped", "waiting"}));
}

TEST_F(Resend, OneThatGoesAgainStandsBehindAnEarlierOneThatDoes) {
  const auto ids = add_many(2);
  mark_all(ids, {kParked, kParked});
  EXPECT_EQ(text(resend(one(ids[0]), 8000)), "1 again, 0 overtaken, 0 waiting");
  EXPECT_EQ(text(resend(one(ids[1]), 9000)), "1 again, 0 overtaken, 0 waiting");
  EXPECT_EQ(told(ids), (std::vector<std::string>{"waiting due 8000", "waiting"}));
}

TEST_F(Resend, WhatWaitsIsDueNowAndKeepsItsAttempts) {
  const auto ids = add_many(2);
  mark(ids[0], kWaiting, 2000);
  EXPECT_EQ(told(ids[0]), "waiting due 62000");
  EXPECT_EQ(text(resend(of_stock("R1042"))), "0 again, 0 overtaken, 2 waiting");
  EXPECT_EQ(told(ids), (std::vector<std::string>{"waiting due 9000", "waiting"}));
  EXPECT_EQ(row(ids[0]).attempts, 1);
  EXPECT_EQ(text(resend(one(ids[0]), 9500)), "0 again, 0 overtaken, 1 waiting");
  EXPECT_EQ(told(ids[0]), "waiting due 9000") << "it was due before";
}

TEST_F(Resend, OneThatWaitsBehindAnotherHurriesTheHead) {
  const auto ids = add_many(2);
  mark(ids[0], kWaiting, 2000);
  EXPECT_EQ(text(resend(one(ids[1]))), "0 again, 0 overtaken, 1 waiting");
  EXPECT_EQ(told(ids), (std::vector<std::string>{"waiting due 9000", "waiting"}));
}

TEST_F(Resend, BeginsTheScheduleAnewAndCountsTheAttemptsOn) {
  const Number id = add(1);
  mark(id, kWaiting, 2000);
  mark(id, kParked, 3000);
  resend(all_parked());
  DeliveryRow r = row(id);
  EXPECT_EQ(r.attempts, 0);
  EXPECT_EQ(r.made, 2);
  EXPECT_EQ(r.changed_at, from_millis(9000));
  mark(id, kSent, 9500);
  r = row(id);
  EXPECT_EQ(r.attempts, 1);
  EXPECT_EQ(r.made, 3);
  const auto attempts = ledger_->attempts_of(id);
  ASSERT_TRUE(attempts.ok());
  ASSERT_EQ(attempts->size(), 3u) << "the earlier ones stay";
  for (size_t i = 0; i < 3; ++i) EXPECT_EQ(attempts->at(i).number, static_cast<int64_t>(i + 1));
}

TEST_F(Resend, AnEmptySelectionAndAnUnknownOutletSelectNothing) {
  mark(add(1), kParked);
  Selection selection;
  EXPECT_EQ(text(resend(selection)), "0 again, 0 overtaken, 0 waiting");
  selection.outlet = "till";
  EXPECT_EQ(text(resend(selection)), "0 again, 0 overtaken, 0 waiting") << "an outlet alone only narrows";
  selection.parked = true;
  selection.outlet = "tilt";
  EXPECT_EQ(text(resend(selection)), "0 again, 0 overtaken, 0 waiting");
  EXPECT_EQ(text(resend(one(99))), "0 again, 0 overtaken, 0 waiting");
  EXPECT_EQ(text(resend(of_stock("R10"))), "0 again, 0 overtaken, 0 waiting");
}

class ResendSelection : public DeliveryTable {
 protected:
  // Two parked deliveries of each stock number, one an outlet; outcomes are decided at 1, 2, 3 …
  ResendSelection() {
    int64_t decided_at = 0;
    for (const char* const key : {"R1042", "R1042#2", "R1043", "Q7"}) {
      bool fresh = false;
      const Number number = first_case_of(*ledger_->subject(key, &fresh));
      OutcomeRow outcome;
      outcome.case_number = number;
      outcome.sequence = 1;
      outcome.decided_at = from_millis(++decided_at);
      EXPECT_TRUE(ledger_->add_outcome(outcome).ok());
      for (const Number outlet : {till_, inventory_}) {
        ids_.push_back(add_to(outlet, 1, number));
        mark(ids_.back(), kParked);
      }
    }
  }

  std::set<Number> picked(const Selection& selection) {
    const Resent resent = resend(selection);
    std::set<Number> waiting;
    for (const Number id : ids_) {
      if (state(id) == kWaiting) waiting.insert(id);
    }
    EXPECT_EQ(resent.again, static_cast<int64_t>(waiting.size()));
    return waiting;
  }

  std::vector<Number> ids_;
};

TEST_F(ResendSelection, AStockNumberMeansItsSubject) { EXPECT_EQ(picked(of_stock("R1042")), (std::set<Number>{1, 2})); }

TEST_F(ResendSelection, AStarMeansABeginning) {
  EXPECT_EQ(picked(of_stock("R1042*")), (std::set<Number>{1, 2, 3, 4}));
}

TEST_F(ResendSelection, AStarAloneMeansAll) { EXPECT_EQ(picked(of_stock("*")).size(), 8u); }

TEST_F(ResendSelection, TimesAreThoseOfTheDecision) {
  Selection selection;
  selection.since = from_millis(2);
  selection.until = from_millis(3);
  EXPECT_EQ(picked(selection), (std::set<Number>{3, 4, 5, 6}));
}

TEST_F(ResendSelection, OneEndOfATimeIsEnough) {
  Selection selection;
  selection.until = from_millis(1);
  EXPECT_EQ(picked(selection), (std::set<Number>{1, 2}));
}

TEST_F(ResendSelection, AllThatIsGivenHolds) {
  Selection selection = of_stock("R*");
  selection.parked = true;
  selection.since = from_millis(2);
  selection.outlet = "inventory";
  EXPECT_EQ(picked(selection), (std::set<Number>{4, 6}));
}

TEST_F(ResendSelection, ADeliveryWithAStockNumberMustBeOfIt) {
  Selection selection = one(5);
  selection.stock_number = "R1042";
  EXPECT_EQ(picked(selection), std::set<Number>());
  selection.stock_number = "R1043";
  EXPECT_EQ(picked(selection), std::set<Number>{5});
}

TEST_F(ResendSelection, ParkedOnesAreNarrowedByTheirOutlet) {
  Selection selection = all_parked();
  selection.outlet = "till";
  EXPECT_EQ(picked(selection), (std::set<Number>{1, 3, 5, 7}));
}

// More than is held in memory at a time, of many cases and of one.
TEST_F(Resend, TakesAnyNumberOfParkedOnes) {
  constexpr int64_t kCases = 2500, kOfOne = 2500;
  std::vector<Number> ids;
  for (int64_t i = 1; i <= kCases; ++i) ids.push_back(add(1, kCase + i));
  for (int64_t sequence = 1; sequence <= kOfOne; ++sequence) ids.push_back(add(sequence));
  for (const Number id : ids) mark(id, kParked);
  EXPECT_EQ(text(resend(all_parked())), "5000 again, 0 overtaken, 0 waiting");
  EXPECT_EQ(due(till_, 9000, 10'000).size(), static_cast<size_t>(kCases) + 1) << "heads";
  EXPECT_EQ(*ledger_->count_waiting(), kCases + kOfOne);
  EXPECT_EQ(text(resend(all_parked())), "0 again, 0 overtaken, 0 waiting");
}

// Whatever is marked, added and sent again: of a case and an outlet no outcome is sent after a later one of it, and the
// first that waits, and only that one, has a time.
class ResendAtRandom : public Resend, public testing::WithParamInterface<uint64_t> {
 protected:
  static constexpr int64_t kCases = 4;

  int64_t below(int64_t n) { return static_cast<int64_t>(random_() % static_cast<uint64_t>(n)); }

  void step() {
    switch (below(4)) {
      case 0: {
        const Number case_number = kCase + below(kCases);
        for (const Number outlet : {till_, inventory_}) ids_.push_back(add_to(outlet, ++last_[{case_number, outlet}], case_number));
        break;
      }
      case 1: resend_something(); break;
      default: send_a_head(); break;
    }
  }

  void send_a_head() {
    const auto heads = due(below(2) == 0 ? till_ : inventory_, 1'000'000'000);
    if (heads.empty()) return;
    const DeliveryRow head = row(heads[static_cast<size_t>(below(static_cast<int64_t>(heads.size())))]);
    constexpr DeliveryState kEnds[] = {kSent, kParked, kWaiting};
    DeliveryState end = kEnds[below(3)];
    if (end == kWaiting && *ledger_->is_overtaken(head)) end = kSkipped;
    mark(head.id, end, ++now_);
    if (end != kSent) return;
    int64_t& sent = sent_[{head.case_number, head.outlet}];
    EXPECT_GE(head.sequence, sent) << "case " << head.case_number << " at outlet " << head.outlet;
    sent = head.sequence;
  }

  void resend_something() {
    Selection selection;
    switch (below(4)) {
      case 0: selection = all_parked(); break;
      case 1: selection = of_stock("*"); break;
      default:
        if (ids_.empty()) return;
        selection = one(ids_[static_cast<size_t>(below(static_cast<int64_t>(ids_.size())))]);
    }
    if (below(3) == 0) selection.outlet = "till";
    resend(selection, ++now_);
  }

  void expect_one_head_a_case() {
    std::map<std::pair<Number, Number>, std::vector<DeliveryRow>> waiting;
    for (const Number id : ids_) {
      const DeliveryRow r = row(id);
      if (r.state == kWaiting) {
        waiting[{r.case_number, r.outlet}].push_back(r);
      } else {
        EXPECT_EQ(r.due, std::nullopt) << id;
      }
    }
    for (const auto& [key, rows] : waiting) {
      for (size_t i = 0; i < rows.size(); ++i) EXPECT_EQ(rows[i].due.has_value(), i == 0) << rows[i].id;
    }
  }

  std::mt19937_64 random_{GetParam()};
  std::map<std::pair<Number, Number>, int64_t> last_, sent_;  // by case and outlet: sequences
  std::vector<Number> ids_;
  int64_t now_ = 10'000;
};

TEST_P(ResendAtRandom, NothingIsToldOutOfOrder) {
  for (int i = 0; i < 500 && !HasFailure(); ++i) {
    step();
    if (i % 50 == 0) expect_one_head_a_case();
  }
  expect_one_head_a_case();
}

INSTANTIATE_TEST_SUITE_P(Seeds, ResendAtRandom, testing::Range<uint64_t>(0, 20));

}  // namespace
}  // namespace girdle::ledger
