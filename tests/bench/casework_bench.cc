// How many cases a second on one core: from measurements to evidence, disposition and reasons. Build with
// CMAKE_BUILD_TYPE=Release.
#include <benchmark/benchmark.h>

#include "casework/decide.h"
#include "casework/explain.h"
#include "casework/house_spec.h"
#include "casework/weigh.h"

namespace girdle::casework {
namespace {

base::Decimal decimal(const char* text) { return *base::Decimal::parse(text); }

HouseSpec shop(bool with_counts) {
  HouseSpec spec;
  HouseSpec::Instrument& instrument = spec.instruments.emplace_back();
  instrument.serial = "A-0117";
  instrument.scope = {{"color", {"[D..J]"}}, {"carat", {"[0.03..10]"}}};
  if (!with_counts) return spec;
  instrument.known_stones = {{{1964, 0, 0, 0, 0, 36}, {0, 480, 0, 0, 0, 20}, {}, {}, {5, 0, 0, 0, 200, 0}}};
  instrument.known_stones_source = "invented";
  spec.priors = {{"", {decimal("0.9"), decimal("0.05"), 0, 0, decimal("0.05")}}};
  spec.repeat_correlation = decimal("0.5");
  return spec;
}

struct Case {
  explicit Case(const House& house) {
    declared.identity = model::Finding::kNatural;
    declared.carat = decimal("0.53");
    declared.value = 1200;
    for (int i = 0; i < 2; ++i) {
      readings[i].instrument = "A-0117";
      readings[i].finding = model::Finding::kNatural;
      readings[i].measured_at = base::from_millis(i * 60'000);
      measurements[i] = {i + 1, &readings[i], &house.rules_of("A-0117")};
    }
  }
  model::Declaration declared;
  model::Reading readings[2];
  Measurement measurements[2];
};

House house_for(const benchmark::State& state) {
  return std::get<BuiltHouse>(build(shop(state.range(0) != 0))).house;
}

void decide_from_evidence(benchmark::State& state) {
  const House house = house_for(state);
  const Case one(house);
  const model::Evidence evidence = weigh(one.measurements, &one.declared, house);
  for (auto _ : state) benchmark::DoNotOptimize(decide(evidence, house));
  state.SetItemsProcessed(static_cast<int64_t>(state.iterations()));
}
BENCHMARK(decide_from_evidence)->Arg(0)->Arg(1);

void weigh_and_decide(benchmark::State& state) {
  const House house = house_for(state);
  const Case one(house);
  for (auto _ : state) benchmark::DoNotOptimize(decide(weigh(one.measurements, &one.declared, house), house));
  state.SetItemsProcessed(static_cast<int64_t>(state.iterations()));
}
BENCHMARK(weigh_and_decide)->Arg(0)->Arg(1);

void explain_in_words(benchmark::State& state) {
  const House house = house_for(state);
  const Case one(house);
  const model::Decision decision = decide(weigh(one.measurements, &one.declared, house), house);
  for (auto _ : state) benchmark::DoNotOptimize(reasons(decision, house, true));
  state.SetItemsProcessed(static_cast<int64_t>(state.iterations()));
}
BENCHMARK(explain_in_words)->Arg(0)->Arg(1);

}  // namespace
}  // namespace girdle::casework

BENCHMARK_MAIN();
