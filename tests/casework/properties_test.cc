// What holds of the default policy for any case: from random measurements, through evidence and table (promise 7).
#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "casework/default_house.h"
#include "casework/weigh.h"

namespace girdle::casework {
namespace {

using base::Decimal;
using model::Disposition;
using model::Evidence;
using model::Finding;
using model::Scope;

// Two instruments with scopes and climates, one without either, one that is not configured.
HouseSpec shop() {
  HouseSpec spec;
  for (const char* serial : {"A-0117", "B-0042"}) {
    HouseSpec::Instrument& instrument = spec.instruments.emplace_back();
    instrument.serial = serial;
    instrument.scope = {{"carat", {"[0.03..10]"}}, {"color", {serial[0] == 'A' ? "[D..J]" : "[D..F]"}}};
    instrument.ambient = {{"temperature_c", {"[10..30]"}}};
  }
  spec.instruments.emplace_back().serial = "C-0001";
  return spec;
}

class RandomCase {
 public:
  RandomCase(std::mt19937& random, const House& house) : random_(random), house_(house) {
    for (int i = 0, n = pick(6); i < n; ++i) readings_.push_back(reading());
    if (pick(4) > 0) declared_.identity = static_cast<Finding>(pick(5));
    if (pick(2)) declared_.carat = carat();
    if (pick(3) == 0) declared_.color = color();
  }

  model::Reading reading() {
    model::Reading r;
    r.instrument = std::array{"A-0117", "A-0117", "B-0042", "C-0001", "X-9999"}[static_cast<size_t>(pick(5))];
    r.finding = static_cast<Finding>(pick(3) ? 0 : pick(7));
    r.measured_at = base::from_millis(pick(10) * 60'000);
    if (pick(3) == 0) r.carat = carat();
    if (pick(3) == 0) r.color = color();
    if (pick(4) == 0) r.temperature_c = Decimal(5 + pick(30));
    if (pick(6) == 0) r.defaults = {"carat", "color"};
    return r;
  }
  void add(model::Reading r) { readings_.push_back(std::move(r)); }

  std::vector<Measurement> measurements() const {
    std::vector<Measurement> out;
    for (const model::Reading& r : readings_) out.push_back({0, &r, &house_.rules_of(r.instrument)});
    return out;
  }
  const model::Declaration& declared() const { return declared_; }
  Evidence evidence() const { return weigh(measurements(), &declared_, house_); }

 private:
  int pick(int n) { return static_cast<int>(random_() % static_cast<unsigned>(n)); }
  Decimal carat() { return *Decimal::parse(std::array{"0.01", "0.5", "1", "11"}[static_cast<size_t>(pick(4))]); }
  std::string color() { return std::array{"D", "H", "K", "G-H"}[static_cast<size_t>(pick(4))]; }

  std::mt19937& random_;
  const House& house_;
  std::vector<model::Reading> readings_;
  model::Declaration declared_;
};

constexpr int kRounds = 60'000;

// No unknown scope, contradiction, missing or discounted reading: told by looking at the measurements again, not at the
// evidence that was made of them.
TEST(DefaultPolicyProperty, ReleasesAsNaturalOnlyWithoutAnyDoubt) {
  const House house = house_of(shop());
  std::mt19937 random(20261126);
  int released = 0;
  for (int round = 0; round < kRounds; ++round) {
    const RandomCase one(random, house);
    const model::Decision decision = decide(one.evidence(), house);
    if (decision.disposition != Disposition::kRelease) continue;
    const auto declared = one.declared().identity;
    if (declared && *declared != Finding::kNatural) {
      EXPECT_EQ(decision.evidence.finding, model::common(*declared)) << "what is not natural is released as declared only";
      continue;
    }
    ++released;
    int natural_inside = 0, natural = 0, others_that_may_judge = 0;
    for (const Measurement& m : one.measurements()) {
      if (m.reading->finding == Finding::kVoid) continue;
      const auto& t = m.reading->temperature_c;
      const bool cold_or_hot = m.rules->temperature_c && t && (*t < Decimal(10) || *t > Decimal(30));
      if (cold_or_hot) continue;
      const Scope scope = scope_of(m, &one.declared());
      if (m.reading->finding != Finding::kNatural) {
        others_that_may_judge += scope != Scope::kOut;
        continue;
      }
      natural += scope != Scope::kOut;
      natural_inside += scope == Scope::kIn;
    }
    EXPECT_EQ(others_that_may_judge, 0);
    EXPECT_GE(natural_inside, 1);
    EXPECT_GE(natural, 2);
  }
  EXPECT_GT(released, 1000) << "the property was hardly tried";
}

TEST(DefaultPolicyProperty, NeverReleasesWithAnUnfitInstrumentOrAnError) {
  const House house = house_of(shop());
  std::mt19937 random(7);
  for (int round = 0; round < kRounds; ++round) {
    Evidence e = RandomCase(random, house).evidence();
    e.instrument = model::Fitness::kUnfit;
    EXPECT_EQ(decide(e, house).disposition, Disposition::kHold);
    e.instrument = model::Fitness::kUnknown;
    e.required = 0;  // the house's table could not tell
    EXPECT_EQ(decide(e, house).disposition, Disposition::kHold);
  }
}

// "Another finding": one that no reading of the case that counts has.
TEST(DefaultPolicyProperty, AnotherFindingNeverMovesACaseToRelease) {
  std::mt19937 random(42);
  for (const int required : {2, 3}) {
    HouseSpec spec = shop();
    spec.required = required;
    const House house = house_of(spec);
    int moved = 0, tried = 0;
    for (int round = 0; round < kRounds; ++round) {
      RandomCase one(random, house);
      const model::Decision before = decide(one.evidence(), house);
      if (before.disposition == Disposition::kRelease) continue;
      model::Reading more = one.reading();
      const auto& said = before.evidence.said;
      const bool is_another = std::ranges::find(said, more.finding, &model::Said::finding) == said.end();
      if (said.empty() || more.finding == Finding::kVoid || !is_another) continue;
      one.add(std::move(more));
      const model::Decision after = decide(one.evidence(), house);
      ++tried;
      moved += after.disposition != before.disposition;
      EXPECT_NE(after.disposition, Disposition::kRelease) << before.reason << " became " << after.reason;
    }
    EXPECT_GT(tried, 10'000);
    EXPECT_GT(moved, 1000) << "the property was hardly tried";
  }
}

}  // namespace
}  // namespace girdle::casework
