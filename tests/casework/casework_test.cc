#include <gtest/gtest.h>

#include "casework/decide.h"
#include "casework/default_house.h"
#include "casework/same.h"
#include "casework/weigh.h"

namespace girdle::casework {
namespace {

using base::Decimal;
using base::from_millis;
using model::Evidence;
using model::Finding;
using model::Scope;

model::Reading reading(Finding finding) {
  model::Reading r;
  r.instrument = "A-0117";
  r.finding = finding;
  return r;
}

TEST(DefaultPolicy, HasARuleForEveryEvidence) {
  const House house = default_house();
  for (int finding = 0; finding < 8; ++finding) {
    for (int valid = 0; valid < 4; ++valid) {
      for (int voids = 0; voids < 5; ++voids) {
        for (int scope = 0; scope < 3; ++scope) {
          for (int fitness = 0; fitness < 3; ++fitness) {
            for (int declared = -1; declared < 5; ++declared) {
              Evidence e;
              e.finding = static_cast<Evidence::Common>(finding);
              e.valid = valid;
              e.voids = voids;
              e.required = 2;
              e.scope = static_cast<Scope>(scope);
              e.instrument = static_cast<model::Fitness>(fitness);
              if (declared >= 0) e.declared = static_cast<Finding>(declared);
              const model::Decision decision = decide(e, house);
              ASSERT_GT(decision.rule, 0);
              // Promise 7: no doubt ever releases a stone as natural.
              if (decision.disposition != model::Disposition::kRelease) continue;
              EXPECT_GE(valid, 2);
              EXPECT_NE(e.instrument, model::Fitness::kUnfit);
              EXPECT_NE(e.finding, Evidence::Common::kMixed);
              EXPECT_TRUE(e.finding != Evidence::Common::kNatural || e.scope == Scope::kIn);
              EXPECT_TRUE(!e.declared || static_cast<int>(*e.declared) == finding);
            }
          }
        }
      }
    }
  }
}

TEST(DefaultPolicy, IsProvedToHaveNoGapAndNoIdleRule) {
  const auto notes = policy::prove(default_house().table.table, {}, proof_facts(FactSet::kEvidence));
  for (const auto& note : notes) ADD_FAILURE() << note.text << " " << note.region;
}

TEST(DefaultPolicy, ReleasesAnUnknownScopeOnlyWhenTheHouseSaysSo) {
  House house = default_house();
  Evidence e;
  e.finding = Evidence::Common::kNatural;
  e.valid = e.required = 2;
  EXPECT_EQ(decide(e, house).reason, "scope_unknown");
  house.settings.accept_unknown_scope = true;
  EXPECT_EQ(decide(e, house).disposition, model::Disposition::kRelease);
  e.scope = Scope::kOut;
  EXPECT_EQ(decide(e, house).reason, "outside_instrument_scope");
}

TEST(DispositionTable, MustNameDispositionsOfOurs) {
  HouseSpec spec;
  spec.table.rules[0].then[0] = "\"sell\"";
  spec.table.outputs[0].allowed_values.clear();
  auto compiled = build(spec);
  const auto* problems = std::get_if<std::vector<HouseProblem>>(&compiled);
  ASSERT_NE(problems, nullptr);
  EXPECT_NE(problems->front().text.find("is no disposition"), std::string::npos) << problems->front().text;
}

TEST(Weigh, DiscountsWhatWasMeasuredOutsideTheInstrumentsClimate) {
  House house = default_house();
  InstrumentRules rules;
  rules.temperature_c = Limit::parse("[-5..23]", false).value();
  model::Reading warm = reading(Finding::kNatural), cool = warm, unsaid = warm;
  warm.temperature_c = Decimal(24);
  cool.temperature_c = Decimal(23);
  const Measurement measurements[] = {{1, &warm, &rules}, {2, &cool, &rules}, {3, &unsaid, &rules}};
  std::vector<Weight> weights;
  const Evidence e = weigh(measurements, nullptr, house, &weights);
  EXPECT_EQ(e.valid, 2);
  EXPECT_EQ(e.discounted, 1);
  EXPECT_EQ(weights[0], Weight::kOutsideAmbient);
}

TEST(Weigh, PutsTheDeclarationBeforeTheReading) {
  House house = default_house();
  InstrumentRules rules;
  rules.carat = Limit::parse("[0.03..10]", false).value();
  rules.color = Limit::parse("[D..J]", true).value();
  model::Reading r = reading(Finding::kNatural);
  r.carat = Decimal(1);
  model::Declaration declared;
  declared.carat = Decimal(11);
  const Measurement m{1, &r, &rules};
  EXPECT_EQ(scope_of(m, nullptr), Scope::kIn);
  EXPECT_EQ(scope_of(m, &declared), Scope::kOut);
  declared.carat.reset();
  declared.color = "K";
  EXPECT_EQ(scope_of(m, &declared), Scope::kOut) << "a known colour outside is enough";
  declared.color = "G-H";
  EXPECT_EQ(scope_of(m, &declared), Scope::kIn) << "a range of colours is not known; the carat is";
}

// Promise 7: what no record gave makes no scope known, and no climate.
TEST(Weigh, TakesAMappingsDefaultForNotGiven) {
  InstrumentRules rules;
  rules.carat = Limit::parse("[0.03..10]", false).value();
  rules.color = Limit::parse("[D..J]", true).value();
  rules.table_mm = Limit::parse(">= 1.5", false).value();
  rules.temperature_c = Limit::parse("[-5..23]", false).value();
  rules.humidity_pct = Limit::parse("<= 60", false).value();
  model::Reading r = reading(Finding::kNatural);
  r.carat = Decimal(1);
  r.color = "G";
  r.table_mm = Decimal(1);
  r.temperature_c = Decimal(24);
  r.humidity_pct = Decimal(61);
  const Measurement m{1, &r, &rules};
  EXPECT_EQ(scope_of(m, nullptr), Scope::kOut);
  r.defaults = {"table_mm"};
  EXPECT_EQ(scope_of(m, nullptr), Scope::kIn);
  r.defaults = {"table_mm", "carat"};
  EXPECT_EQ(scope_of(m, nullptr), Scope::kIn);
  r.defaults = {"table_mm", "carat", "color"};
  EXPECT_EQ(scope_of(m, nullptr), Scope::kUnknown);
  const House house = default_house();
  EXPECT_EQ(weigh({&m, 1}, nullptr, house).discounted, 1);
  r.defaults.push_back("temperature_c");
  EXPECT_EQ(weigh({&m, 1}, nullptr, house).discounted, 1);
  r.defaults.push_back("humidity_pct");
  EXPECT_EQ(weigh({&m, 1}, nullptr, house).valid, 1);
}

// Promise 2: a default never makes two measurements of one.
TEST(Routes, DoNotContradictEachOtherByADefault) {
  model::Reading a = reading(Finding::kNatural), b = a;
  a.operator_name = "nobody", b.operator_name = "eve";
  a.extra = {{"lamp", "xenon"}}, b.extra = {{"lamp", "deuterium"}, {"tray", "4"}};
  EXPECT_FALSE(agree(a, b));
  a.defaults = {"operator"};
  EXPECT_FALSE(agree(a, b));
  b.defaults = {"extra.lamp"};
  EXPECT_TRUE(agree(a, b));
  EXPECT_TRUE(agree(b, a));
  const model::Reading both = joined(a, b);
  EXPECT_EQ(both.operator_name, "eve");
  EXPECT_EQ(both.extra, (decltype(both.extra){{"lamp", "xenon"}, {"tray", "4"}}));
  EXPECT_TRUE(both.defaults.empty());
}

TEST(Routes, AreMatchedOnceNearestFirst) {
  std::vector<Known> records(3);
  for (auto& known : records) known.reading = reading(Finding::kNatural);
  records[0].intakes = {1};
  records[0].reading.measured_at = from_millis(0);
  records[1].intakes = {2};
  records[1].reading.measured_at = from_millis(9'000);
  records[2].intakes = {1};
  records[2].reading.measured_at = from_millis(10'000);
  const auto pairs = pair_routes(records, base::Millis(45'000));
  ASSERT_EQ(pairs.size(), 1u);
  EXPECT_EQ(pairs[0].first, 1u);
  EXPECT_EQ(pairs[0].second, 2u);
  records[2].reading.stock_number = "R1";
  records[1].reading.stock_number = "R2";
  EXPECT_EQ(pair_routes(records, base::Millis(45'000))[0].first, 0u) << "a contradiction is no match";
}

TEST(Routes, AreTwoMeasurementsWhereOneIntakeBroughtBoth) {
  std::vector<Known> records(2);
  for (auto& known : records) known.reading = reading(Finding::kNatural);
  records[1].reading.measured_at = from_millis(9'000);
  records[0].intakes = {1};
  records[1].intakes = {2, 3};
  EXPECT_EQ(pair_routes(records, base::Millis(45'000)).size(), 1u);
  records[0].intakes = {1, 3};
  EXPECT_EQ(pair_routes(records, base::Millis(45'000)).size(), 0u);
}

TEST(Cases, EndWhereTheGapIsAboveTheLimit) {
  const base::Instant times[] = {from_millis(0), from_millis(10), from_millis(21), from_millis(31)};
  EXPECT_EQ(case_starts(times, base::Millis(10)), (std::vector<size_t>{0, 2}));
}

TEST(Claims, TheNewestWithinReachIsInForceElseTheOldest) {
  const Claim claims[] = {{from_millis(100), 0, 0, 1}, {from_millis(300), 0, 0, 2}, {from_millis(900), 0, 0, 3}};
  EXPECT_EQ(claim_in_force(claims, from_millis(250), base::Millis(100)), 1u);
  EXPECT_EQ(claim_in_force(claims, from_millis(10), base::Millis(20)), 0u);
  EXPECT_EQ(claim_in_force({}, from_millis(10), base::Millis(20)), std::nullopt);
}

}  // namespace
}  // namespace girdle::casework
