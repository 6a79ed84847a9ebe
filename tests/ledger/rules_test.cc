// Rules that decided, when they came into force, and what rules in the shadow said.
#include <gtest/gtest.h>

#include "ledger/ledger.h"
#include "raw.h"
#include "service/temp_ledger.h"

namespace girdle::ledger {
namespace {

using base::from_millis;
using model::Disposition;

class Rules : public testing::Test {
 protected:
  Rules() : ledger_(temp_.open()) { EXPECT_TRUE(ledger_->begin().ok()); }

  Number add_house(const std::string& version) {
    const auto house = ledger_->house({"quay-street", version, "sha256:" + version}, "rules " + version, from_millis(10));
    EXPECT_TRUE(house.ok());
    return house.ok() ? *house : 0;
  }

  void add_shadow(const ShadowRow& row) {
    const auto added = ledger_->add_shadow(row);
    EXPECT_TRUE(added.ok()) << added.error().text;
  }

  void add_outcome(Number case_number, int64_t sequence, const std::string& reason) {
    OutcomeRow row;
    row.case_number = case_number;
    row.sequence = sequence;
    row.decision.reason = reason;
    row.measured = {{sequence, 0}};
    EXPECT_TRUE(ledger_->add_outcome(row).ok());
  }

  TempLedger temp_;
  std::unique_ptr<Ledger> ledger_;
};

TEST_F(Rules, AreFoundByTheirNumberWithTheirText) {
  add_house("1");
  const Number house = add_house("2");
  const auto found = ledger_->house_row(house);
  ASSERT_TRUE(found.ok() && *found);
  EXPECT_EQ((*found)->number, house);
  EXPECT_EQ((*found)->stamp, (model::PolicyStamp{"quay-street", "2", "sha256:2"}));
  EXPECT_EQ((*found)->rules, "rules 2");
  EXPECT_EQ((*found)->since, from_millis(10));
  const auto none = ledger_->house_row(house + 1);
  EXPECT_TRUE(none.ok());
  EXPECT_FALSE(*none);
}

TEST_F(Rules, BeforeTheFirstActivationThereIsNone) {
  const auto last = ledger_->last_activation();
  ASSERT_TRUE(last.ok());
  EXPECT_FALSE(*last);
  EXPECT_TRUE(ledger_->each_activation([](const Activation&, const model::PolicyStamp&) { FAIL(); }).ok());
}

// The clock went back between the two: the order is that of the events.
TEST_F(Rules, TheLastActivationIsTheOneThatWasWrittenLast) {
  const Number first = add_house("1"), second = add_house("2");
  ASSERT_TRUE(ledger_->add_activation({first, from_millis(200), from_millis(100), "A. Manager", "opening"}).ok());
  ASSERT_TRUE(ledger_->add_activation({second, from_millis(150), {}, "", ""}).ok());
  ASSERT_TRUE(ledger_->add_activation({first, from_millis(190), {}, "", "back again"}).ok());
  const auto last = ledger_->last_activation();
  ASSERT_TRUE(last.ok() && *last);
  EXPECT_EQ((*last)->house, first);
  EXPECT_EQ((*last)->why, "back again");
  EXPECT_EQ((*last)->valid_from, std::nullopt);
  std::vector<std::string> told;
  const auto tell = [&](const Activation& a, const model::PolicyStamp& stamp) {
    told.push_back(stamp.version + " at " + std::to_string(base::to_millis(a.at)) + " from " +
                   (a.valid_from ? std::to_string(base::to_millis(*a.valid_from)) : "-") + " by '" + a.approved_by +
                   "' as '" + a.why + "'");
  };
  ASSERT_TRUE(ledger_->each_activation(tell).ok());
  EXPECT_EQ(told, (std::vector<std::string>{"1 at 200 from 100 by 'A. Manager' as 'opening'", "2 at 150 from - by '' as ''",
                                            "1 at 190 from - by '' as 'back again'"}));
}

TEST_F(Rules, WhatAPolicyDoesNotSayOfItsActivationIsNull) {
  ASSERT_TRUE(ledger_->add_activation({add_house("1"), from_millis(200), {}, "", ""}).ok());
  ASSERT_TRUE(ledger_->commit().ok());
  EXPECT_EQ(value(temp_.path(), "SELECT count(*) FROM activation WHERE valid_from IS NULL AND approved_by IS NULL AND "
                                "why IS NULL"),
            "1");
}

TEST_F(Rules, OfOneShadowsAnswersToAnOutcomeTheFirstStays) {
  const ShadowRow first{65536, 1, 1, Disposition::kRelease, "as_declared", 9};
  add_shadow(first);
  add_shadow({65536, 1, 1, Disposition::kReject, "later", 2});
  const auto found = ledger_->shadows_of(65536);
  ASSERT_TRUE(found.ok());
  EXPECT_EQ(*found, std::vector<ShadowRow>{first});
}

TEST_F(Rules, TheShadowsOfACaseComeBySequenceThenHouse) {
  const ShadowRow a{65536, 1, 1, Disposition::kHold, "a", 1}, b{65536, 1, 2, Disposition::kRefer, "b", 0},
      c{65536, 2, 1, Disposition::kRepeat, "c", 3}, of_another{65537, 1, 1, Disposition::kHold, "d", 4};
  for (const ShadowRow& row : {of_another, c, b, a}) add_shadow(row);
  const auto found = ledger_->shadows_of(65536);
  ASSERT_TRUE(found.ok());
  EXPECT_EQ(*found, (std::vector<ShadowRow>{a, b, c}));
}

TEST_F(Rules, TheLastAnswerOfAShadowComesWithItsOutcome) {
  for (const auto& [case_number, outcomes] : {std::pair{65536, 3}, {131072, 2}, {196608, 1}}) {
    for (int sequence = 1; sequence <= outcomes; ++sequence) {
      add_outcome(case_number, sequence, std::to_string(case_number) + "-" + std::to_string(sequence));
    }
  }
  // House 1 went out of the shadow before the third outcome of the first case; the third case only knows house 2.
  for (const ShadowRow& row : {ShadowRow{65536, 1, 1, Disposition::kHold, "x", 1},
                               {65536, 2, 1, Disposition::kRelease, "y", 2},
                               {65536, 3, 2, Disposition::kReject, "z", 3},
                               {131072, 2, 1, Disposition::kRefer, "v", 4},
                               {131072, 2, 2, Disposition::kRefer, "w", 5},
                               {196608, 1, 2, Disposition::kHold, "u", 6}}) {
    add_shadow(row);
  }
  const auto told = [&](Number house) {
    std::string text;
    const auto done = ledger_->each_last_shadow(house, [&](const ShadowRow& shadow, const OutcomeRow& outcome) {
      EXPECT_EQ(shadow.house, house);
      EXPECT_EQ(outcome.case_number, shadow.case_number);
      EXPECT_EQ(outcome.measured->front().reading, shadow.sequence);
      text += shadow.reason + " of " + outcome.decision.reason + "; ";
    });
    EXPECT_TRUE(done.ok()) << done.error().text;
    return text;
  };
  EXPECT_EQ(told(1), "y of 65536-2; v of 131072-2; ");
  EXPECT_EQ(told(2), "z of 65536-3; w of 131072-2; u of 196608-1; ");
  EXPECT_EQ(told(3), "");
}

TEST_F(Rules, AShadowOfNoOutcomeIsDamage) {
  add_shadow({65536, 4, 1, Disposition::kHold, "x", 1});
  const auto done = ledger_->each_last_shadow(1, [](const ShadowRow&, const OutcomeRow&) { FAIL(); });
  ASSERT_FALSE(done.ok());
  EXPECT_EQ(done.error().fault, base::Fault::kInput);
  EXPECT_NE(done.error().text.find("case 65536 has no outcome 4"), std::string::npos) << done.error().text;
}

TEST_F(Rules, TheOutletsOfACaseAreThoseThatHaveADeliveryOfIt) {
  const Number till = *ledger_->outlet("till"), inventory = *ledger_->outlet("inventory"), site = *ledger_->outlet("site");
  bool head = false;
  for (const auto& [outlet, case_number, sequence] : {std::tuple{inventory, 65536, 1}, {till, 65536, 1}, {till, 65536, 2},
                                                      {site, 65537, 1}}) {
    ASSERT_TRUE(ledger_->add_delivery(outlet, case_number, sequence, from_millis(1), &head).ok());
  }
  EXPECT_EQ(*ledger_->outlets_of(65536), (std::vector<Number>{till, inventory}));
  EXPECT_EQ(*ledger_->outlets_of(65537), std::vector<Number>{site});
  EXPECT_EQ(*ledger_->outlets_of(65538), std::vector<Number>());
}

}  // namespace
}  // namespace girdle::ledger
