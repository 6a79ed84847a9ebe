// How many records a second the readers give on one core, from a document in memory, 64 KiB a feed.
// The host only adds up the sizes of the values, so this is the reader alone. Build with
// CMAKE_BUILD_TYPE=Release.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <cstdio>
#include <string>
#include <vector>

#include "delimited/delimited_reader.h"
#include "json/json_reader.h"

namespace girdle {
namespace {

constexpr size_t kRecords = 20000;
constexpr const char* kNames[] = {"device", "no",      "taken", "item", "result",   "score",
                                  "colour", "clarity", "carat", "temp", "humidity", "operator",
                                  "method", "build",   "place", "site", "flag"};

// Seventeen fields of record `i`, about 190 bytes as a row; the fifteenth needs quotes.
std::vector<std::string> fields_of(size_t i) {
  const auto text = [](const char* form, size_t number) {
    char out[64];
    std::snprintf(out, sizeof out, form, number);
    return std::string(out);
  };
  return {text("A-%06zu", 100 + i % 3),
          text("%zu", 100000 + i),
          text("2026-11-02T10:%02zu:30.125Z", i % 60),
          text("R%09zu", i * 7 % 100003),
          i % 20 == 0 ? "C" : "A",
          text("0.9%03zu", i % 1000),
          text("%zuK", i % 9),
          i % 2 == 0 ? "VVS1" : "SI2",
          text("%zu.25", i % 4),
          text("%zu.5", 19 + i % 8),
          text("%zu.1", 30 + i % 30),
          text("desk%zu", i % 8),
          "mode=spectral; passes=3; light=shortwave",
          text("4.11.%zu-rc1 (2026-09-30)", i % 5),
          text("tray %zu, ", i % 60) + text("pos %zu", i % 40),
          "quay-street",
          "ok"};
}

std::string rows() {
  std::string out;
  for (size_t i = 0; i < 17; ++i) out += std::string(i == 0 ? "" : ",") + kNames[i];
  out += '\n';
  for (size_t i = 0; i < kRecords; ++i) {
    const std::vector<std::string> fields = fields_of(i);
    for (size_t f = 0; f < fields.size(); ++f) {
      if (f > 0) out += ',';
      out += f == 14 ? '"' + fields[f] + '"' : fields[f];
    }
    out += '\n';
  }
  return out;
}

// The same as JSON; the numbers as numbers.
std::string objects(const char* before, const char* between, const char* after) {
  std::string out = before;
  for (size_t i = 0; i < kRecords; ++i) {
    const std::vector<std::string> fields = fields_of(i);
    out += i == 0 ? "{" : std::string(between) + "{";
    for (size_t f = 0; f < fields.size(); ++f) {
      const bool is_number = f == 1 || f == 5 || (f >= 8 && f <= 10);
      out += std::string(f == 0 ? "\"" : ",\"") + kNames[f] + "\":";
      out += is_number ? fields[f] : '"' + fields[f] + '"';
    }
    out += '}';
  }
  return out + after;
}

struct Sum {
  uint64_t records = 0;
  uint64_t asides = 0;
  uint64_t bytes = 0;
};

girdle_reader_host adding_host(Sum& sum) {
  girdle_reader_host host = {sizeof host, GIRDLE_READER_ABI, &sum,   nullptr,
                             nullptr,     nullptr,           nullptr};
  host.emit = [](const girdle_reader_host* self, const girdle_record* record) -> girdle_status {
    auto& all = *static_cast<Sum*>(self->context);
    ++all.records;
    for (size_t i = 0; i < record->count; ++i) all.bytes += record->values[i].size;
    return GIRDLE_OK;
  };
  host.aside = [](const girdle_reader_host* self, const girdle_aside*) -> girdle_status {
    ++static_cast<Sum*>(self->context)->asides;
    return GIRDLE_OK;
  };
  host.refuse = [](const girdle_reader_host*, girdle_text) {};
  host.extension = [](const girdle_reader_host*, const char*) -> const void* { return nullptr; };
  return host;
}

void read_all(benchmark::State& state, const girdle_reader_descriptor& descriptor,
              const std::string& document) {
  constexpr size_t kFeed = 64 << 10;
  const girdle_reader_setup setup = {sizeof setup, 0, 1 << 20, 1000, 0, nullptr, {}};
  Sum sum;
  for (auto _ : state) {
    sum = {};
    const girdle_reader_host host = adding_host(sum);
    girdle_reader* reader = descriptor.create(&host, &setup);
    for (size_t at = 0; at < document.size(); at += kFeed) {
      descriptor.feed(reader, document.data() + at, std::min(kFeed, document.size() - at));
    }
    descriptor.finish(reader);
    descriptor.destroy(reader);
  }
  if (sum.records != kRecords || sum.asides != 0) state.SkipWithError("not every record was read");
  state.SetItemsProcessed(static_cast<int64_t>(state.iterations() * kRecords));
  state.SetBytesProcessed(static_cast<int64_t>(state.iterations() * document.size()));
  state.counters["bytes_a_record"] = static_cast<double>(document.size()) / kRecords;
}

void delimited_rows(benchmark::State& state) { read_all(state, delimited::descriptor(), rows()); }
BENCHMARK(delimited_rows)->Unit(benchmark::kMillisecond);

void json_lines(benchmark::State& state) {
  read_all(state, json::descriptor(), objects("", "\n", "\n"));
}
BENCHMARK(json_lines)->Unit(benchmark::kMillisecond);

void json_array(benchmark::State& state) {
  read_all(state, json::descriptor(), objects("[", ",\n", "]\n"));
}
BENCHMARK(json_array)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace girdle

BENCHMARK_MAIN();
