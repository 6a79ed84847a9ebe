// What just happened on each bench.
#include <algorithm>
#include <functional>
#include <map>
#include <set>

#include "api/case_line.h"
#include "api/list.h"
#include "api/problem.h"
#include "api/query.h"
#include "api/resources.h"
#include "base/time.h"

namespace girdle::api {
namespace {

using base::Result;
using ledger::ReadingLine;

constexpr int64_t kLooked = 500;  // the newest readings
constexpr size_t kLatest = 8;     // of a bench

struct Bench {
  std::set<std::string> instruments;
  std::vector<ReadingLine> latest;  // the newest first
};
using Benches = std::map<std::string, Bench>;  // by name; "" is where an instrument has none

std::map<std::string, std::string> bench_of_each(const House& house) {
  std::map<std::string, std::string> benches;
  for (const InstrumentView& instrument : house.instruments) benches[instrument.serial] = instrument.bench;
  return benches;
}

// The latest measured first. One whose instrument's clock is ahead counts as measured when it came: else it would stand
// there as the latest for as long as its clock is wrong.
void put_in_order(std::vector<ReadingLine>& latest, base::Instant now) {
  std::ranges::stable_sort(latest, std::greater(), [now](const ReadingLine& line) {
    const base::Instant at = line.stored.reading.measured_at;
    return at <= now ? at : std::min(line.stored.came_at, now);
  });
}

Result<Benches> gather(ledger::Ledger& ledger, const House& house, base::Instant now) {
  const auto bench_of = bench_of_each(house);
  Benches benches;
  for (const auto& [serial, bench] : bench_of) benches[bench].instruments.insert(serial);
  ledger::Page page;
  page.limit = kLooked;
  page.most_looked = kLooked;
  const auto next = ledger.page_of_readings({}, page, [&](const ReadingLine& line) {
    const std::string& serial = line.stored.reading.instrument;
    const auto known = bench_of.find(serial);
    Bench& bench = benches[known == bench_of.end() ? std::string() : known->second];
    bench.instruments.insert(serial);
    if (line.stored.live && line.stored.pair == 0) bench.latest.push_back(line);
  });
  if (!next) return next.error();
  for (auto& [name, bench] : benches) {
    put_in_order(bench.latest, now);
    if (bench.latest.size() > kLatest) bench.latest.resize(kLatest);
  }
  return benches;
}

// The open case of a measurement; 0 = none.
Result<ledger::Number> case_of(ledger::Ledger& ledger, const ledger::StoredReading& reading) {
  if (reading.subject == 0) return ledger::Number{0};
  const auto cases = ledger.cases_of(reading.subject);
  if (!cases) return cases.error();
  const base::Instant at = reading.reading.measured_at;
  for (const ledger::CaseRow& row : *cases) {
    if (row.state == ledger::CaseState::kOpen && row.first_at <= at && at <= row.last_at) return row.number;
  }
  return ledger::Number{0};
}

Result<void> write_latest(base::JsonWriter& json, Teller& teller, const ReadingLine& line) {
  const model::Reading& reading = line.stored.reading;
  const auto number = case_of(teller.ledger(), line.stored);
  if (!number) return number.error();
  json.begin_object().member("at", std::string_view(base::format_rfc3339(reading.measured_at)));
  json.member("instrument", std::string_view(reading.instrument)).member_or_null("run", reading.run);
  json.member("finding", model::text(reading.finding)).member("reading", line.stored.id);
  json.member_or_null("key", line.key).key("case");
  if (*number == 0) {
    json.null();
  } else {
    const auto told = case_line(teller, *number);
    if (!told) return told.error();
    json.raw(*told);
  }
  json.end_object();
  return {};
}

Result<void> write_bench(base::JsonWriter& json, Teller& teller, const std::string& name, const Bench& bench) {
  json.begin_object().member_or_null("bench", name).key("instruments").begin_array();
  for (const std::string& serial : bench.instruments) json.text(serial);
  json.end_array().key("latest").begin_array();
  for (const ReadingLine& line : bench.latest) {
    if (const auto done = write_latest(json, teller, line); !done) return done;
  }
  json.end_array().end_object();
  return {};
}

}  // namespace

// Those that have a name first, by it.
Response list_benches(const Call& call, Teller& teller) {
  const Query query(call.request, {});
  if (!query.is_right()) return problem(400, query.problem());
  auto benches = gather(teller.ledger(), call.house, call.now);
  if (!benches) return problem(benches.error());
  auto nameless = benches->extract("");
  ListWriter list;
  for (const auto& [name, bench] : *benches) {
    if (const auto done = write_bench(list.item(), teller, name, bench); !done) return problem(done.error());
  }
  if (!nameless.empty()) {
    if (const auto done = write_bench(list.item(), teller, {}, nameless.mapped()); !done) return problem(done.error());
  }
  return list.finish('b', std::nullopt);
}

}  // namespace girdle::api
