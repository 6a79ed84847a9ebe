// A back-test over a ledger of many cases, beside one plain walk through it.
//
//     girdle_backtest_bench FOLDER [CASES]
//
// Makes FOLDER/ledger.db where it is missing: CASES cases (1,000,000) of two readings and a declaration each, through the
// recorder. Then it walks it, and back-tests a policy that asks for three runs above 1,000. Prints seconds.
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <string>

#include "service/backtest.h"
#include "service/recorder.h"

namespace girdle::service {
namespace {

using casework::HouseSpec;

base::Decimal decimal(const char* text) { return *base::Decimal::parse(text); }

HouseSpec shop() {
  HouseSpec spec;
  HouseSpec::Instrument& instrument = spec.instruments.emplace_back();
  instrument.serial = "A-0117";
  instrument.scope = {{"color", {"[D..J]"}}, {"carat", {"[0.03..10]"}}};
  return spec;
}

HouseSpec strict() {
  HouseSpec spec = shop();
  spec.name = "strict";
  policy::TableSpec& required = spec.required_table.emplace();
  required.hit_policy = "FIRST";
  required.inputs.resize(1);
  required.inputs[0].expression = "value";
  required.outputs.resize(1);
  required.outputs[0].name = "required";
  required.rules.resize(1);
  required.rules[0].when = {"> 1000"};
  required.rules[0].then = {"3"};
  return spec;
}

Rules rules_of(const HouseSpec& spec) {
  auto built = std::get<casework::BuiltHouse>(casework::build(spec));
  return {std::make_shared<const casework::House>(std::move(built.house)), std::move(built.rules), {}, "", ""};
}

Batch document(int64_t first, int64_t count) {
  Batch batch;
  batch.document.intake = "exports";
  batch.document.name = std::to_string(first);
  batch.document.digest = base::sha256(batch.document.name);
  for (int64_t i = first; i < first + count; ++i) {
    const std::string stock = "R" + std::to_string(i);
    model::Declaration& d = batch.records.declarations.emplace_back();
    d.stock_number = stock;
    d.identity = model::Finding::kNatural;
    d.carat = decimal("0.53");
    d.value = i % 2000;
    for (int64_t k = 0; k < 2; ++k) {
      model::Reading& r = batch.records.readings.emplace_back();
      r.instrument = "A-0117";
      r.run = std::to_string(2 * i + k);
      r.stock_number = stock;
      r.finding = i % 50 == 0 && k == 1 ? model::Finding::kSimulant : model::Finding::kNatural;
      r.measured_at = base::from_millis(1'790'000'000'000 + (2 * i + k) * 60'000);
      r.place.offset = static_cast<uint64_t>(2 * i + k) * 100;
    }
  }
  return batch;
}

bool make(const std::filesystem::path& file, int64_t cases) {
  auto ledger = ledger::Ledger::open(file);
  if (!ledger) return false;
  base::SystemClock clock;
  Recorder recorder(**ledger, clock, "quay-street");
  const Adoption adoption{rules_of(shop()), std::nullopt, {}};
  bool ok = (*ledger)->begin().ok() && recorder.adopt(adoption).ok();
  for (int64_t first = 0; ok && first < cases; first += 1000) {
    std::vector<model::Delivery> fresh;
    const Batch batch = document(first, std::min<int64_t>(1000, cases - first));
    ok = recorder.add(batch).ok() && recorder.settle(fresh, 0).ok() && (*ledger)->commit().ok();
    recorder.committed();
    ok = ok && (*ledger)->begin().ok();
  }
  return ok && (*ledger)->commit().ok() && (*ledger)->tidy(1);
}

class Stopwatch {
 public:
  double seconds() const { return std::chrono::duration<double>(std::chrono::steady_clock::now() - start_).count(); }

 private:
  std::chrono::steady_clock::time_point start_ = std::chrono::steady_clock::now();
};

int measure(const std::filesystem::path& file) {
  auto ledger = ledger::Ledger::read(file);
  if (!ledger) {
    std::fprintf(stderr, "%s\n", ledger.error().text.c_str());
    return 1;
  }
  HouseShelf shelf(**ledger);
  const Rules candidate = rules_of(strict());
  for (int round = 0; round < 3; ++round) {
    const Stopwatch walk;
    int64_t subjects = 0;
    if (!(*ledger)->each_history([&](const ledger::SubjectHistory&) -> base::Result<void> { return ++subjects, base::Result<void>(); })) return 1;
    const double walked = walk.seconds();
    const Stopwatch all;
    const auto report = backtest(**ledger, shelf, *candidate.house, {}, [](const ChangedCase&) {});
    if (!report) return 1;
    std::printf("%lld cases: walk %.2f s, back-test %.2f s; %lld of %lld outcomes replayed, %lld cases change\n",
                static_cast<long long>(subjects), walked, all.seconds(), static_cast<long long>(report->replayed),
                static_cast<long long>(report->outcomes), static_cast<long long>(report->changed));
  }
  return 0;
}

}  // namespace
}  // namespace girdle::service

int main(int argc, char** argv) {
  if (argc < 2) return 2;
  const std::filesystem::path file = std::filesystem::path(argv[1]) / "ledger.db";
  const int64_t cases = argc > 2 ? std::atoll(argv[2]) : 1'000'000;
  const bool is_there = std::filesystem::exists(file);
  if (!is_there && !girdle::service::make(file, cases)) return 1;
  return girdle::service::measure(file);
}
