#include <gtest/gtest.h>

#include <map>
#include <random>

#include "ledger/delivery_table.h"

namespace girdle::ledger {
namespace {

using base::from_millis;
using model::DeliveryState;
using Fate = ResendFate;

class ResendLook : public DeliveryTable {
 protected:
  std::map<Number, Fate> fates_of(const Selection& selection, Resent* counted) {
    std::map<Number, Fate> fates;
    const auto seen = ledger_->look_at_resend(selection, [&](const DeliveryRow& one, const std::string& outlet,
                                               const std::string& key, Fate fate) {
      EXPECT_EQ(outlet, one.outlet == till_ ? "till" : "inventory");
      EXPECT_FALSE(key.empty());
      fates[one.id] = fate;
    });
    EXPECT_TRUE(seen.ok()) << (seen ? "" : seen.error().text);
    if (seen) *counted = *seen;
    return fates;
  }

  // Outcomes of some stones, each on its way to both outlets, and every one stands somehow.
  std::vector<Number> scatter(std::mt19937& random) {
    std::vector<Number> ids;
    std::uniform_int_distribution<int> outcomes(1, 5), state(0, 3);
    int64_t decided_at = 0;
    for (const char* const key : {"R1042", "R1042#2", "R1043", "Q7"}) {
      bool fresh = false;
      const Number number = first_case_of(*ledger_->subject(key, &fresh));
      for (int64_t sequence = 1, last = outcomes(random); sequence <= last; ++sequence) {
        OutcomeRow outcome;
        outcome.case_number = number;
        outcome.sequence = sequence;
        outcome.decided_at = from_millis(++decided_at);
        EXPECT_TRUE(ledger_->add_outcome(outcome).ok());
        for (const Number outlet : {till_, inventory_}) {
          ids.push_back(add_to(outlet, sequence, number));
          const auto to = static_cast<DeliveryState>(state(random));
          if (to != DeliveryState::kWaiting) mark(ids.back(), to);
        }
      }
    }
    return ids;
  }

  static Selection pick(std::mt19937& random, const std::vector<Number>& ids) {
    std::bernoulli_distribution coin;
    Selection selection;
    switch (std::uniform_int_distribution<int>(0, 3)(random)) {
      case 0: selection.delivery = ids[std::uniform_int_distribution<size_t>(0, ids.size() - 1)(random)]; break;
      case 1: selection.stock_number = coin(random) ? "R10*" : "R1042"; break;
      case 2: selection.parked = true; break;
      default: selection.since = from_millis(2); break;
    }
    if (coin(random)) selection.outlet = coin(random) ? "till" : "inventory";
    if (coin(random)) selection.until = from_millis(7);
    if (coin(random)) selection.parked = true;
    return selection;
  }
};

// What it says is what is then done.
TEST_F(ResendLook, SaysWhatIsThenDone) {
  commit();
  int any = 0;
  for (unsigned seed = 1; seed <= 300; ++seed) {
    SCOPED_TRACE(seed);
    std::mt19937 random(seed);
    ASSERT_TRUE(ledger_->begin().ok());
    const auto ids = scatter(random);
    const Selection selection = pick(random, ids);
    Resent said;
    const auto fates = fates_of(selection, &said);
    std::map<Number, DeliveryState> before;
    for (const Number id : ids) before[id] = state(id);
    const Resent done = resend(selection);
    EXPECT_EQ(said.again, done.again);
    EXPECT_EQ(said.overtaken, done.overtaken);
    EXPECT_EQ(said.waiting, done.waiting);
    any += done.again + done.overtaken > 0 ? 1 : 0;
    for (const Number id : ids) {
      const auto at = fates.find(id);
      const bool goes = at != fates.end() && at->second == Fate::kAgain;
      EXPECT_EQ(state(id), goes ? DeliveryState::kWaiting : before[id]) << id;
    }
    ledger_->rollback();
  }
  EXPECT_GT(any, 100);
}

// Of a case 4 is parked, and 5 was sent, sent again and parked: 4 must not come after it.
TEST_F(ResendLook, KnowsWhatWasSentOnceAndIsParkedNow) {
  bool fresh = false;
  const Number number = first_case_of(*ledger_->subject("R1042", &fresh));
  const Number four = add(4, number), five = add(5, number);
  mark(four, DeliveryState::kParked);
  mark(five, DeliveryState::kSent);
  Selection again;
  again.delivery = five;
  ASSERT_EQ(resend(again).again, 1);
  mark(five, DeliveryState::kParked);
  Selection parked;
  parked.parked = true;
  Resent said;
  const auto fates = fates_of(parked, &said);
  EXPECT_EQ(fates.at(four), Fate::kOvertaken);
  EXPECT_EQ(fates.at(five), Fate::kAgain);
  const Resent done = resend(parked);
  EXPECT_EQ(said.again, done.again);
  EXPECT_EQ(said.overtaken, done.overtaken);
}

TEST_F(ResendLook, ChangesNothing) {
  std::mt19937 random(7);
  const auto ids = scatter(random);
  const auto before = told(ids);
  Resent counted;
  Selection all;
  all.since = from_millis(0);
  EXPECT_EQ(fates_of(all, &counted).size(), ids.size());
  EXPECT_EQ(told(ids), before);
}

TEST_F(ResendLook, MeansNothingWhereNothingIsGivenOrAnOutletAlone) {
  std::mt19937 random(7);
  scatter(random);
  Resent counted;
  Selection selection;
  EXPECT_TRUE(fates_of(selection, &counted).empty());
  selection.outlet = "till";
  EXPECT_TRUE(fates_of(selection, &counted).empty());
}

TEST_F(ResendLook, KnowsNoDeliveryThatIsNotThere) {
  Selection selection;
  selection.delivery = 99;
  const auto seen = ledger_->look_at_resend(selection, [](const auto&, const auto&, const auto&, Fate) {});
  ASSERT_FALSE(seen.ok());
  EXPECT_EQ(seen.error().text, "there is no delivery 99");
}

}  // namespace
}  // namespace girdle::ledger
