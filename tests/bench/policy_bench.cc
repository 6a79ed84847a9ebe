// How many decisions a second on one core. Build with CMAKE_BUILD_TYPE=Release.
#include <benchmark/benchmark.h>

#include "policy/default_policy.h"

namespace girdle::policy {
namespace {

void decide_by_the_default_policy(benchmark::State& state) {
  const auto compiled = Table::compile(default_policy_spec());
  const Table& table = std::get<Table>(compiled);
  const std::vector<std::vector<Value>> cases = {
      default_policy_facts("natural", 2, 0, "in", "fit", "natural"),
      default_policy_facts("natural", 1, 0, "in", "fit", "none"),
      default_policy_facts("none", 0, 1, "unknown", "fit", "none"),
      default_policy_facts("laboratory_grown", 2, 0, "in", "fit", "natural"),
      default_policy_facts("natural", 3, 1, "unknown", "fit", "natural"),
      default_policy_facts("simulant", 2, 0, "in", "unknown", "none"),
      default_policy_facts("natural", 2, 0, "in", "fit", "laboratory_grown"),
      default_policy_facts("mixed", 4, 0, "in", "fit", "natural"),
  };
  size_t next = 0;
  for (auto _ : state) {
    benchmark::DoNotOptimize(table.evaluate(cases[next]));
    next = (next + 1) % cases.size();
  }
  state.SetItemsProcessed(static_cast<int64_t>(state.iterations()));
}
BENCHMARK(decide_by_the_default_policy);

// The longest way: the last rule but one.
void decide_by_rule_14(benchmark::State& state) {
  const auto compiled = Table::compile(default_policy_spec());
  const Table& table = std::get<Table>(compiled);
  const auto facts = default_policy_facts("natural", 2, 0, "in", "fit", "laboratory_grown");
  for (auto _ : state) benchmark::DoNotOptimize(table.evaluate(facts));
  state.SetItemsProcessed(static_cast<int64_t>(state.iterations()));
}
BENCHMARK(decide_by_rule_14);

}  // namespace
}  // namespace girdle::policy

BENCHMARK_MAIN();
