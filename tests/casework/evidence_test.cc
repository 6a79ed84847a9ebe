// From measurements to the facts of the policy.
#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "casework/default_house.h"
#include "casework/weigh.h"

namespace girdle::casework {
namespace {

using base::Decimal;
using base::from_millis;
using model::ErrorLimits;
using model::Evidence;
using model::Finding;

Decimal decimal(std::string_view text) { return *Decimal::parse(text); }

// Measurements of one stone, in the order of time unless said otherwise.
class Stone {
 public:
  explicit Stone(const House& house) : house_(house) { readings_.reserve(100); }

  model::Reading& run(Finding finding, std::string instrument = "A-0117") {
    model::Reading& r = readings_.emplace_back();
    r.instrument = std::move(instrument);
    r.finding = finding;
    r.measured_at = from_millis(static_cast<int64_t>(readings_.size()) * 60'000);
    return r;
  }
  model::Declaration declared;

  Evidence evidence() const {
    std::vector<Measurement> measurements;
    for (const model::Reading& r : readings_) {
      measurements.push_back({static_cast<int64_t>(measurements.size()) + 1, &r, &house_.rules_of(r.instrument)});
    }
    return weigh(measurements, &declared, house_);
  }

 private:
  const House& house_;
  std::vector<model::Reading> readings_;
};

// An instrument with so many known stones that the prior on the counts does not matter.
HouseSpec tested(std::initializer_list<std::pair<std::string, std::pair<double, double>>> sensitivity_specificity) {
  HouseSpec spec;
  for (const auto& [serial, of] : sensitivity_specificity) {
    HouseSpec::Instrument& instrument = spec.instruments.emplace_back();
    instrument.serial = serial;
    const auto count = [](double share) { return static_cast<int64_t>(share * 1e12); };
    HouseSpec::Counts& counts = instrument.known_stones.emplace();
    counts[0] = {count(of.second), count(1 - of.second), 0, 0, 0, 0};
    counts[1] = {count(1 - of.first), count(of.first), 0, 0, 0, 0};
    instrument.known_stones_source = "invented";
  }
  return spec;
}

// Positive predictive values of published examples (Eddy 1982; Rice, Mathematical Statistics and Data Analysis; National
// Cancer Institute figures as a homework has them), the whole way: counts and priors from the house, a reading, facts.
TEST(Probability, AgreesWithPublishedPredictiveValues) {
  const struct {
    const char *prevalence, *rest;
    double sensitivity, specificity, ppv;
  } kCases[] = {{"0.01", "0.99", 0.8, 0.904, 0.078}, {"0.01", "0.99", 0.8, 0.9, 0.075}, {"0.0238", "0.9762", 0.85, 0.95, 0.293}};
  for (const auto& c : kCases) {
    HouseSpec spec = tested({{"A-0117", {c.sensitivity, c.specificity}}});
    spec.priors = {{"", {decimal(c.rest), decimal(c.prevalence)}}};
    const House house = house_of(spec);
    Stone stone(house);
    stone.run(Finding::kLaboratoryGrown);
    stone.declared.identity = Finding::kLaboratoryGrown;
    const Evidence e = stone.evidence();
    ASSERT_TRUE(e.probability);
    EXPECT_EQ(e.probability->of, Finding::kLaboratoryGrown);
    EXPECT_NEAR(e.probability->value.approximate(), c.ppv, 0.0006);
    EXPECT_LE(e.probability->low, e.probability->value);
    EXPECT_GE(e.probability->high, e.probability->value);
    EXPECT_EQ(e.probability->value, e.probability->value.rounded(6));
  }
}

TEST(Probability, GoesByTheChannelsPriors) {
  HouseSpec spec = tested({{"A-0117", {0.9, 0.9}}});
  spec.priors = {{"pawn", {decimal("0.5"), decimal("0.5")}}, {"", {decimal("0.9"), decimal("0.1")}}};
  const House house = house_of(spec);
  Stone stone(house);
  stone.run(Finding::kNatural);
  EXPECT_NEAR(stone.evidence().probability->value.approximate(), 0.81 / (0.81 + 0.01), 1e-6);
  stone.declared.channel = "pawn";
  EXPECT_NEAR(stone.evidence().probability->value.approximate(), 0.9, 1e-6);
}

// Nothing is guessed: without counts, or without priors, there is no number.
TEST(Probability, IsUnknownWithoutCountsOrPriors) {
  HouseSpec spec = tested({{"A-0117", {0.9, 0.9}}});
  const auto unknown = [](const HouseSpec& of, const char* second) {
    const House house = house_of(of);
    Stone stone(house);
    stone.run(Finding::kNatural);
    stone.run(Finding::kNatural, second);
    const Evidence e = stone.evidence();
    EXPECT_EQ(e.error_limits == ErrorLimits::kUnknown, !e.probability);
    return !e.probability;
  };
  EXPECT_TRUE(unknown(spec, "A-0117")) << "no priors";
  spec.priors = {{"", {decimal("0.9"), decimal("0.1")}}};
  EXPECT_FALSE(unknown(spec, "A-0117"));
  EXPECT_TRUE(unknown(spec, "B-0042")) << "an instrument without counts";
  spec.priors = {{"", {decimal("0.9"), decimal("0.05"), decimal("0.05")}}};
  EXPECT_TRUE(unknown(spec, "A-0117")) << "an identity that the instrument was never tried on";
  spec.priors = {{"pawn", {Decimal(1)}}};
  EXPECT_TRUE(unknown(spec, "A-0117")) << "priors of another channel";
}

TEST(Probability, IsNeverCertain) {
  HouseSpec spec = tested({{"A-0117", {0.999999, 0.999999}}});
  spec.repeat_correlation = 0;
  spec.priors = {{"", {decimal("0.999"), decimal("0.001")}}};
  const House house = house_of(spec);
  Stone stone(house);
  for (int i = 0; i < 10; ++i) stone.run(Finding::kNatural);
  EXPECT_EQ(stone.evidence().probability->value.text(), "0.999999");
  stone.declared.identity = Finding::kLaboratoryGrown;
  EXPECT_EQ(stone.evidence().probability->value.text(), "0.000001");
  EXPECT_EQ(stone.evidence().error_limits, ErrorLimits::kAgainst);
}

// All repeats as one, which is the default: a second run of the same instrument tells nothing new.
TEST(Probability, DoesNotGrowByRepeatsThatAreAllAsOne) {
  HouseSpec spec = tested({{"A-0117", {0.9, 0.95}}, {"B-0042", {0.9, 0.95}}});
  spec.priors = {{"", {decimal("0.9"), decimal("0.1")}}};
  const House house = house_of(spec);
  Stone once(house), twice(house), two(house);
  once.run(Finding::kNatural);
  twice.run(Finding::kNatural), twice.run(Finding::kNatural);
  two.run(Finding::kNatural), two.run(Finding::kNatural, "B-0042");
  EXPECT_EQ(once.evidence().probability, twice.evidence().probability);
  EXPECT_GT(two.evidence().probability->value, twice.evidence().probability->value);
  EXPECT_EQ(twice.evidence().instruments, 1);
  EXPECT_EQ(two.evidence().instruments, 2);
}

// NIST/SEMATECH e-Handbook 6.2.6: with p1 = 0.01, p2 = 0.1, alpha 0.05 and beta 0.1 a lot without a defective is
// accepted from item 24 on; runs that say natural stand for good items.
TEST(MoreRuns, AreThoseOfTheHandbooksPlan) {
  HouseSpec spec = tested({{"A-0117", {0.1, 0.99}}});
  spec.repeat_correlation = 0;
  spec.miss_limit = decimal("0.1");
  spec.false_alarm_limit = decimal("0.05");
  spec.priors = {{"", {decimal("0.5"), decimal("0.5")}}};
  const House house = house_of(spec);
  Stone stone(house);
  stone.run(Finding::kNatural);
  EXPECT_EQ(stone.evidence().more_runs, 23);
  EXPECT_EQ(stone.evidence().error_limits, ErrorLimits::kOpen);
  for (int i = 0; i < 23; ++i) stone.run(Finding::kNatural);
  EXPECT_EQ(stone.evidence().more_runs, 0);
  EXPECT_EQ(stone.evidence().error_limits, ErrorLimits::kMet);
}

TEST(Said, TellsWhoDisagreesWithWhom) {
  const House house = default_house();
  Stone stone(house);
  stone.run(Finding::kNatural), stone.run(Finding::kSimulant, "B-0042"), stone.run(Finding::kNatural);
  stone.run(Finding::kVoid);
  const Evidence e = stone.evidence();
  EXPECT_EQ(e.said, (std::vector<model::Said>{{Finding::kSimulant, "B-0042", 1}, {Finding::kNatural, "A-0117", 2}}));
  EXPECT_EQ(e.finding, Evidence::Common::kMixed);
  EXPECT_EQ(e.dissent, 1);
  EXPECT_EQ(e.instruments, 2);
  EXPECT_EQ(e.voids, 1);
}

// Promise 3, at its core.
TEST(Evidence, DoesNotDependOnTheOrderOfMeasurements) {
  HouseSpec spec = tested({{"A-0117", {0.9, 0.95}}, {"B-0042", {0.8, 0.99}}});
  spec.priors = {{"", {decimal("0.9"), decimal("0.1")}}};
  spec.repeat_correlation = decimal("0.3");
  const House house = house_of(spec);
  std::mt19937 random(3);
  for (int round = 0; round < 500; ++round) {
    std::vector<model::Reading> readings(2 + random() % 6);
    for (model::Reading& r : readings) {
      r.instrument = random() % 2 ? "A-0117" : "B-0042";
      r.finding = random() % 4 ? Finding::kNatural : Finding::kLaboratoryGrown;
      r.measured_at = from_millis(static_cast<int64_t>(random() % 3));
      if (random() % 2) r.carat = Decimal(1 + static_cast<int64_t>(random() % 2));
    }
    const auto weighed = [&] {
      std::vector<Measurement> measurements;
      for (const model::Reading& r : readings) measurements.push_back({0, &r, &house.rules_of(r.instrument)});
      return weigh(measurements, nullptr, house);
    };
    const Evidence before = weighed();
    std::ranges::shuffle(readings, random);
    EXPECT_EQ(weighed(), before);
  }
}

TEST(StoneFacts, AreTheDeclarationsElseWhatTheReadingsAgreeOn) {
  const House house = default_house();
  Stone stone(house);
  stone.run(Finding::kNatural).carat = decimal("0.53");
  stone.run(Finding::kNatural);
  EXPECT_EQ(stone.evidence().stone.carat, decimal("0.53"));
  stone.run(Finding::kNatural).carat = decimal("0.54");
  EXPECT_EQ(stone.evidence().stone.carat, std::nullopt) << "they differ";
  stone.declared.carat = decimal("0.55");
  stone.declared.value = decimal("1200.50");
  stone.declared.channel = "pawn";
  EXPECT_EQ(stone.evidence().stone.carat, decimal("0.55"));
  EXPECT_EQ(stone.evidence().stone.value, decimal("1200.5"));
  EXPECT_EQ(stone.evidence().stone.channel, "pawn");
}

TEST(StoneFacts, DoNotComeFromAMappingsDefault) {
  const House house = default_house();
  Stone stone(house);
  model::Reading& r = stone.run(Finding::kNatural);
  r.color = "G";
  r.defaults = {"color"};
  EXPECT_EQ(stone.evidence().stone.color, "");
}

// The first stone of the open data set `diamonds` (ggplot2): 0.23 ct, 3.95 x 3.98 x 2.43 mm.
TEST(CaratEstimate, IsMadeFromTheMeasurementsOfAMountedStone) {
  const House house = default_house();
  Stone stone(house);
  stone.run(Finding::kNatural);
  stone.declared.shape = "round";
  stone.declared.length_mm = decimal("3.98");
  stone.declared.width_mm = decimal("3.95");
  stone.declared.depth_mm = decimal("2.43");
  auto estimate = stone.evidence().carat_estimate;
  ASSERT_TRUE(estimate);
  EXPECT_NEAR(estimate->carat.approximate(), 0.23, 0.23 * 0.03915);
  EXPECT_EQ(estimate->plausible, std::nullopt) << "nothing is declared";
  stone.declared.carat = decimal("0.23");
  EXPECT_EQ(stone.evidence().carat_estimate->plausible, true);
  stone.declared.carat = decimal("0.31");
  EXPECT_EQ(stone.evidence().carat_estimate->plausible, false);
  stone.declared.shape = "trillion";
  EXPECT_EQ(stone.evidence().carat_estimate, std::nullopt);
}

}  // namespace
}  // namespace girdle::casework
