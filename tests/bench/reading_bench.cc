// How many records a second one core reads and maps. Build with CMAKE_BUILD_TYPE=Release.
#include <benchmark/benchmark.h>

#include <array>

#include "base/time.h"
#include "reading/reader.h"

namespace girdle::reading {
namespace {

constexpr int kRows = 10'000;
constexpr const char* kColumns[] = {"device", "no",     "at",    "item",   "pos",   "kind",
                                    "result", "type",   "conf",  "weight", "color", "shape",
                                    "table",  "length", "width", "depth",  "temp"};
constexpr const char* kFields[] = {
    "instrument", "run",          "measured_at", "stock_number", "position",     "subject_kind",
    "finding",    "diamond_type", "confidence",  "carat",        "color",        "shape",
    "table_mm",   "length_mm",    "width_mm",    "depth_mm",     "temperature_c"};
static_assert(std::size(kColumns) == 17 && std::size(kFields) == 17);

model::Mapping mapping(std::string_view form) {
  model::Mapping mapping;
  for (size_t i = 0; i < std::size(kFields); ++i) {
    model::FieldRule rule;
    rule.field = kFields[i];
    rule.from = {kColumns[i]};
    if (rule.field == "measured_at") rule.form = form;
    if (rule.field == "finding") {
      rule.has_words = true;
      rule.words = {{"A", "natural"}, {"B", "simulant"}, {"C", "indeterminate"}, {"-", "void"}};
    }
    mapping.fields.push_back(std::move(rule));
  }
  return mapping;
}

// The values of row n, in the order of the columns.
std::array<std::string, 17> row(int n, std::string_view form) {
  const auto two = [](int value) {
    return std::string(value < 10 ? "0" : "") + std::to_string(value);
  };
  const std::string clock = two(n / 3600 % 24) + ':' + two(n / 60 % 60) + ':' + two(n % 60);
  const std::string at = form == "rfc3339" ? "2026-11-" + two(1 + n % 28) + 'T' + clock + "+01:00"
                                           : two(1 + n % 28) + ".11.2026 " + clock;
  return {"A-0117",
          std::to_string(100'000 + n),
          at,
          "R" + std::to_string(10'000 + n / 3),
          n % 4 == 0 ? std::to_string(n % 7) : "",
          "stone",
          std::string(1, "AAAAAABAC-"[n % 10]),
          "IIa",
          "0.9" + std::to_string(n % 10),
          std::to_string(n % 3) + "." + two(1 + n % 99),
          std::string(1, static_cast<char>('D' + n % 7)),
          "round",
          "3." + two(n % 100),
          "5." + two(n % 100),
          "5." + two(n * 7 % 100),
          "3." + two(n * 3 % 100),
          "21." + std::to_string(n % 10)};
}

std::string delimited(std::string_view form) {
  std::string text;
  for (size_t i = 0; i < 17; ++i) text += std::string(i ? "," : "") + kColumns[i];
  text += '\n';
  for (int n = 0; n < kRows; ++n) {
    const auto values = row(n, form);
    for (size_t i = 0; i < 17; ++i) text += (i ? "," : "") + values[i];
    text += '\n';
  }
  return text;
}

std::string json_lines() {
  std::string text;
  for (int n = 0; n < kRows; ++n) {
    const auto values = row(n, "rfc3339");
    for (size_t i = 0; i < 17; ++i)
      text += std::string(i ? ",\"" : "{\"") + kColumns[i] + "\":\"" + values[i] + '"';
    text += "}\n";
  }
  return text;
}

void read_all(benchmark::State& state, const std::string& name, const std::string& text,
              std::string_view form) {
  const Catalogue catalogue = Catalogue::scan({GIRDLE_READER_FOLDER}, nullptr);
  auto reader = Reader::open(
      catalogue,
      {.reader = name, .options = {}, .mapping = mapping(form), .timezone = "Europe/Brussels"});
  if (!reader) return state.SkipWithError(reader.error().text.c_str());
  model::Records records;
  for (auto _ : state) {
    auto document = (*reader)->begin();
    size_t readings = 0;
    for (size_t at = 0; at < text.size(); at += 64 << 10) {
      document->feed(std::string_view(text).substr(at, 64 << 10), records);
      readings += records.readings.size();
      records.readings.clear();
    }
    document->finish(true, records);
    readings += records.readings.size();
    records.readings.clear();
    if (readings != kRows || !records.empty()) return state.SkipWithError("records are missing");
  }
  state.SetItemsProcessed(static_cast<int64_t>(state.iterations()) * kRows);
}

void delimited_17_columns(benchmark::State& state) {
  read_all(state, "delimited", delimited("rfc3339"), "rfc3339");
}
BENCHMARK(delimited_17_columns);

void delimited_17_columns_local_times(benchmark::State& state) {
  constexpr std::string_view kForm = "%d.%m.%Y %H:%M:%S";
  read_all(state, "delimited", delimited(kForm), kForm);
}
BENCHMARK(delimited_17_columns_local_times);

void json_17_members(benchmark::State& state) { read_all(state, "json", json_lines(), "rfc3339"); }
BENCHMARK(json_17_members);

void rfc3339(benchmark::State& state) {
  std::string text = "2026-11-02T10:15:30.25+01:00";
  for (auto _ : state) {
    benchmark::DoNotOptimize(text);
    benchmark::DoNotOptimize(base::parse_rfc3339(text));
  }
}
BENCHMARK(rfc3339);

void pattern_in_a_zone(benchmark::State& state) {
  const base::Zone zone = *base::Zone::find("Europe/Brussels");
  const base::TimeForm form = *base::TimeForm::compile("%d.%m.%Y %H:%M:%S");
  std::string text = "02.11.2026 10:15:30";
  for (auto _ : state) {
    benchmark::DoNotOptimize(text);
    benchmark::DoNotOptimize(form.parse(text, zone, base::TwiceRule::kRefuse));
  }
}
BENCHMARK(pattern_in_a_zone);

void decimal(benchmark::State& state) {
  std::string text = "0.53";
  for (auto _ : state) {
    benchmark::DoNotOptimize(text);
    benchmark::DoNotOptimize(base::Decimal::parse(text));
  }
}
BENCHMARK(decimal);

}  // namespace
}  // namespace girdle::reading

BENCHMARK_MAIN();
