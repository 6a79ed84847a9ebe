// How many decisions a second on one core, and how long a proof of a big table takes. Build with
// CMAKE_BUILD_TYPE=Release.
#include <benchmark/benchmark.h>

#include <array>
#include <random>
#include <string>
#include <vector>

#include "policy/default_policy.h"
#include "policy/proof.h"

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

// Tables of 1,000 rules and 10 columns, the size that is proved within two seconds.
constexpr size_t kRules = 1000, kColumns = 10;

class BigTable {
 public:
  explicit BigTable(const std::string& hit_policy) {
    spec_.hit_policy = hit_policy;
    for (size_t c = 0; c < kColumns; ++c) {
      spec_.inputs.push_back({"f" + std::to_string(c), "number", "[0..1024)", true});
    }
    spec_.outputs = {{"o"}};
  }
  int pick(int below) { return static_cast<int>(random_() % static_cast<unsigned>(below)); }
  void add(std::vector<std::string> when) { spec_.rules.push_back({std::move(when), {"1"}}); }
  Table compiled() const { return std::get<Table>(Table::compile(spec_)); }

 private:
  std::mt19937 random_{1};
  TableSpec spec_;
};

std::string range(int low, int high) {
  return "[" + std::to_string(low) + ".." + std::to_string(high) + ")";
}

// All facts, cut in two again and again: no overlap, no gap.
Table disjoint_table() {
  BigTable table("UNIQUE");
  struct Side {
    int low = 0, high = 1024;
  };
  std::vector<std::array<Side, kColumns>> parts(1);
  while (parts.size() < kRules) {
    const auto at = static_cast<size_t>(table.pick(static_cast<int>(parts.size())));
    const auto column = static_cast<size_t>(table.pick(kColumns));
    auto other = parts[at];
    Side& side = parts[at][column];
    if (side.high - side.low < 2) continue;
    side.high = other[column].low = side.low + 1 + table.pick(side.high - side.low - 1);
    parts.push_back(other);
  }
  for (const auto& part : parts) {
    std::vector<std::string> when;
    for (const Side& side : part) {
      when.push_back(side.high - side.low == 1024 ? "-" : range(side.low, side.high));
    }
    table.add(when);
  }
  return table.compiled();
}

// Rules over one another, `dashes` of a hundred cells accept anything.
Table layered_table(int64_t dashes) {
  BigTable table("FIRST");
  for (size_t r = 0; r < kRules; ++r) {
    std::vector<std::string> when;
    for (size_t c = 0; c < kColumns; ++c) {
      const int low = table.pick(724);
      when.push_back(table.pick(100) < dashes ? "-" : range(low, low + 1 + table.pick(300)));
    }
    table.add(when);
  }
  return table.compiled();
}

// The same of cells that are open to one side, which cut all facts into the most parts.
Table table_of_halves(int64_t dashes) {
  BigTable table("FIRST");
  for (size_t r = 0; r < kRules; ++r) {
    std::vector<std::string> when;
    for (size_t c = 0; c < kColumns; ++c) {
      const std::string half =
          (table.pick(2) == 0 ? "< " : ">= ") + std::to_string(table.pick(1024));
      when.push_back(table.pick(100) < dashes ? "-" : half);
    }
    table.add(when);
  }
  return table.compiled();
}

void prove_disjoint(benchmark::State& state) {
  const Table table = disjoint_table();
  for (auto _ : state) benchmark::DoNotOptimize(prove(table));
}
BENCHMARK(prove_disjoint)->Unit(benchmark::kMillisecond);

void prove_layered(benchmark::State& state) {
  const Table table = layered_table(state.range(0));
  for (auto _ : state) benchmark::DoNotOptimize(prove(table));
}
BENCHMARK(prove_layered)
    ->ArgName("dashes")
    ->Arg(0)
    ->Arg(30)
    ->Arg(60)
    ->Arg(80)
    ->Unit(benchmark::kMillisecond);

void prove_halves(benchmark::State& state) {
  const Table table = table_of_halves(state.range(0));
  for (auto _ : state) benchmark::DoNotOptimize(prove(table));
}
BENCHMARK(prove_halves)
    ->ArgName("dashes")
    ->Arg(30)
    ->Arg(60)
    ->Arg(80)
    ->Unit(benchmark::kMillisecond);

// One set of facts after another by such a table.
void evaluate_a_big_table(benchmark::State& state, const Table& table) {
  std::mt19937 random{2};
  std::vector<std::vector<Value>> cases(64);
  for (auto& facts : cases) {
    for (size_t c = 0; c < kColumns; ++c) facts.emplace_back(base::Decimal(static_cast<int64_t>(random() % 1024)));
  }
  size_t next = 0;
  for (auto _ : state) {
    benchmark::DoNotOptimize(table.evaluate(cases[next]));
    next = (next + 1) % cases.size();
  }
  state.SetItemsProcessed(static_cast<int64_t>(state.iterations()));
}
void evaluate_disjoint(benchmark::State& state) { evaluate_a_big_table(state, disjoint_table()); }
BENCHMARK(evaluate_disjoint);
void evaluate_layered(benchmark::State& state) { evaluate_a_big_table(state, layered_table(state.range(0))); }
BENCHMARK(evaluate_layered)->Arg(0)->Arg(30)->Arg(80);

}  // namespace
}  // namespace girdle::policy

BENCHMARK_MAIN();
