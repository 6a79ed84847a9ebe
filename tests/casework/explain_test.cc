#include "casework/explain.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "casework/default_house.h"
#include "casework/weigh.h"

namespace girdle::casework {
namespace {

using model::Evidence;
using model::Finding;
using testing::HasSubstr;

Evidence one_natural(const House& house) {
  Evidence e;
  e.scope = model::Scope::kIn;
  e.said = {{Finding::kNatural, "A-0117", 1}};
  complete(e, house);
  return e;
}

std::vector<std::string> lines(const House& house, const Evidence& e, bool is_open = true) {
  std::vector<std::string> out;
  for (const model::Reason& reason : reasons(decide(e, house), house, is_open)) out.push_back(reason.code + ": " + reason.text);
  return out;
}

TEST(Reasons, SayWhatWasSeenAskedDecidedAndWouldChange) {
  const House house = default_house();
  EXPECT_THAT(lines(house, one_natural(house)),
              testing::ElementsAre(
                  "more_readings_needed: 1 of 2 agreeing runs so far: measure once more.",
                  "seen: A-0117 says natural (1 run). Scope in; declared nothing.",
                  "asked: Policy default, version 1, asks for 2 runs of this stone; 1 counts.", "rule: Rule 6 decided.",
                  "would_change: With one more natural reading, it is released.",
                  "would_change: With a reading that says anything else, it goes to a laboratory."));
}

TEST(Reasons, NameWhoDisagreesWithWhom) {
  const House house = default_house();
  Evidence e = one_natural(house);
  e.said.push_back({Finding::kSimulant, "B-0042", 2});
  e.voids = 1;
  complete(e, house);
  EXPECT_THAT(lines(house, e), testing::Contains("seen: A-0117 says natural (1 run), B-0042 says simulant (2 runs); void: 1 "
                                                 "run. Scope in; declared nothing."));
}

TEST(Reasons, OfACaseThatEndedHaveNoNextStep) {
  const House house = default_house();
  for (const std::string& line : lines(house, one_natural(house), false)) EXPECT_THAT(line, testing::Not(HasSubstr("would_change")));
}

// The person decides: nothing is said of what would change it.
TEST(Reasons, OfADecisionByHandSayWhoAndWhyThenTheEvidence) {
  const House house = default_house();
  const auto told = [&](const std::string& why) {
    std::vector<std::string> out;
    for (const model::Reason& reason : reasons_by_hand({"Kim", why}, one_natural(house), house)) {
      out.push_back(reason.code + ": " + reason.text);
    }
    return out;
  };
  EXPECT_THAT(told("seen under the microscope"),
              testing::ElementsAre(
                  "decided_by_hand: Decided by hand by Kim: seen under the microscope.",
                  "seen: A-0117 says natural (1 run). Scope in; declared nothing.",
                  "asked: Policy default, version 1, asks for 2 runs of this stone; 1 counts.",
                  "rule: The policy says repeat (more_readings_needed) of the same evidence. Rule 6 decided."));
  EXPECT_EQ(told("Is it not plain?").front(), "decided_by_hand: Decided by hand by Kim: Is it not plain?");
}

TEST(Reasons, SayHowProbableItIsAndWhenItIsEnough) {
  HouseSpec spec;
  HouseSpec::Instrument& instrument = spec.instruments.emplace_back();
  instrument.serial = "A-0117";
  instrument.known_stones = {{{1964, 0, 0, 0, 0, 36}, {60, 400, 0, 0, 0, 40}, {}, {}, {}}};
  instrument.known_stones_source = "invented";
  spec.priors = {{"", {*base::Decimal::parse("0.9"), *base::Decimal::parse("0.1")}}};
  spec.repeat_correlation = *base::Decimal::parse("0.2");
  const House house = house_of(spec);
  const Evidence e = one_natural(house);
  ASSERT_TRUE(e.probability && e.more_runs);
  EXPECT_THAT(lines(house, e), testing::Contains("probable: Probability of natural: " + e.probability->value.text() + " (" +
                                                 e.probability->low.text() + " to " + e.probability->high.text() +
                                                 "), by the instruments' known stones; " + std::to_string(*e.more_runs) +
                                                 " more agreeing runs would meet the error limits."));
}

// The trade states carats with two places; the third rounds up only from 9 (evidence/carat.h has the source).
TEST(Reasons, StateCaratsAsTheTradeDoes) {
  const House house = default_house();
  Evidence e = one_natural(house);
  e.carat_estimate = {*base::Decimal::parse("1.768"), *base::Decimal::parse("1.699"), *base::Decimal::parse("1.769"), false};
  e.stone.carat = *base::Decimal::parse("2.008");
  EXPECT_THAT(lines(house, e), testing::Contains("carat: By its measurements it has about 1.76 ct (1.70 to 1.77); the "
                                                 "declared 2.00 ct do not fit."));
}

TEST(ReasonText, IsTheHousesOwnWithFactsInIt) {
  HouseSpec spec;
  spec.reasons = {{"more_readings_needed", {"Noch {missing} von {required} Messungen; Wert {value}."}}};
  const House house = house_of(spec);
  EXPECT_EQ(reason_text("more_readings_needed", one_natural(house), house), "Noch 1 von 2 Messungen; Wert unknown.");
  EXPECT_EQ(reason_text("ask_the_goldsmith", {}, house), "ask the goldsmith");
}

// 16 CFR 23.12(c)(3) and ISO 18323 2.2, as evidence/disclosure.h has them.
TEST(Disclosure, IsToldForTheHousesMarket) {
  Evidence e;
  e.finding = Evidence::Common::kLaboratoryGrown;
  EXPECT_FALSE(disclosure_of(e, default_house()));
  HouseSpec spec;
  spec.market = "us";
  const House house = house_of(spec);
  const auto told = disclosure_of(e, house);
  ASSERT_TRUE(told);
  EXPECT_EQ(told->allowed.front(), "laboratory-grown diamond");
  EXPECT_THAT(told->barred, testing::Contains("genuine"));
  EXPECT_THAT(told->caution, HasSubstr("Check your local rules"));
  for (const auto finding : {Evidence::Common::kMixed, Evidence::Common::kIndeterminate, Evidence::Common::kNone}) {
    e.finding = finding;
    EXPECT_FALSE(disclosure_of(e, house)) << "no identity has words";
  }
}

}  // namespace
}  // namespace girdle::casework
