#include "api/metrics_sample.h"

#include <cstdio>
#include <cstdlib>

#include "base/time.h"

namespace girdle::api {
namespace {

using base::Instant;
using ledger::Ledger;
using ledger::Number;
using std::chrono::milliseconds;
using std::chrono::seconds;

// The sample is wrong, and with it whatever goes by it.
void must(bool ok, const char* what) {
  if (ok) return;
  std::fprintf(stderr, "metrics sample: %s failed\n", what);
  std::abort();
}

template <class Value>
Value must(base::Result<Value> result, const char* what) {
  must(result.ok(), what);
  return std::move(result).value();
}

Number add_document(Ledger& ledger, Number intake, const std::string& name, Instant came_at) {
  model::Document document;
  document.name = name;
  document.digest = base::sha256(name);
  document.size = 1;
  document.came_at = came_at;
  return must(ledger.add_document(intake, document, came_at), "add_document");
}

// `late`: by how much it came after its measurement.
void add_reading(Ledger& ledger, Number instrument, Number intake, int run, Instant came_at, base::Millis late) {
  ledger::StoredReading stored;
  stored.instrument = instrument;
  stored.intake = intake;
  stored.document = add_document(ledger, intake, std::to_string(run), came_at);
  stored.came_at = came_at;
  stored.content = run;
  stored.reading.run = std::to_string(run);
  stored.reading.measured_at = came_at - late;
  must(ledger.add_reading(stored, false), "add_reading");
}

void write_readings(Ledger& ledger) {
  const Number line = must(ledger.intake("counter-1"), "intake"), folder = must(ledger.intake("exports"), "intake");
  const Number ahead = must(ledger.instrument("A-0117"), "instrument"), behind = must(ledger.instrument("B-0042"), "instrument");
  for (int run = 1; run <= 30; ++run) {
    add_reading(ledger, ahead, line, run, MetricsSample::at("17:00:00") + seconds(run), milliseconds(run == 25 ? -1500 : 700));
  }
  add_reading(ledger, behind, line, 31, MetricsSample::at("17:10:00"), seconds(90));
  add_reading(ledger, behind, folder, 32, MetricsSample::at("17:20:00"), milliseconds(1));
}

void add_delivery(Ledger& ledger, Number outlet, Number case_number, Instant now, model::DeliveryState state) {
  bool head = false;
  ledger::DeliveryRow row;
  row.id = must(ledger.add_delivery(outlet, case_number, 1, now, &head), "add_delivery");
  row.state = state;
  row.changed_at = now;
  if (state != model::DeliveryState::kWaiting) must(ledger.mark_delivery(row), "mark_delivery");
}

void write_deliveries(Ledger& ledger) {
  const Number till = must(ledger.outlet("till"), "outlet");
  Number last = 0;
  const auto next_case = [&] {
    bool fresh = false;
    last = ledger::first_case_of(must(ledger.subject("R" + std::to_string(1042 + last), &fresh), "subject"));
    ledger::CaseRow row;
    row.number = last;
    must(ledger.put_case(row, true).ok(), "put_case");
    return last;
  };
  add_delivery(ledger, till, next_case(), MetricsSample::at("16:00:00"), model::DeliveryState::kSent);
  add_delivery(ledger, till, next_case(), MetricsSample::at("17:30:00"), model::DeliveryState::kWaiting);
  add_delivery(ledger, till, next_case(), MetricsSample::at("17:40:00"), model::DeliveryState::kWaiting);
  add_delivery(ledger, till, next_case(), MetricsSample::at("17:50:00"), model::DeliveryState::kParked);
}

House make_house() {
  House house;
  house.site = "quay-street";
  house.version = "0.1.0";
  house.intakes = {{"counter-1", "serial", "json", {"reading"}}, {"exports", "folder", "delimited", {"reading"}}};
  house.instruments = {{"A-0117", "counter-1"}, {"B-0042", ""}, {"C-0001", ""}};
  house.outlets = {{"till", "webhook"}, {MetricsSample::kAwkward, "folder"}};
  return house;
}

void fill(Meters& meters) {
  meters.started = MetricsSample::at("07:00:00");
  meters.instruments.adopt({"A-0117", "B-0042", "C-0001"});
  meters.readings = 32, meters.duplicates = 4, meters.corrections = 1, meters.voids = 2, meters.declarations = 120;
  meters.scans = 9, meters.asides = 3, meters.decided_by_hand = 1;
  for (size_t i = 0; i < meters.outcomes.size(); ++i) meters.outcomes[i] = 10 * i;
  meters.instruments.of("A-0117").readings = 29;
  meters.instruments.of("A-0117").voids = 2;
  for (int i = 0; i < 3; ++i) ++meters.instruments.of("invented-" + std::to_string(i)).readings;
  for (const int us : {80, 100, 101, 730, 4'000, 200'000'000}) meters.commit.add(std::chrono::microseconds(us));
}

Standing make_standing() {
  Standing standing;
  IntakeState line;
  line.name = "counter-1", line.up = true, line.documents = 31, line.bytes = 7'000'000'000, line.failed = 1, line.in_flight = 2;
  line.last_at = MetricsSample::at("17:59:12") + milliseconds(250);
  line.since = MetricsSample::at("07:00:01");
  IntakeState folder;
  folder.name = "exports", folder.trouble = "the folder is not there", folder.known = 8, folder.set_aside = 1, folder.abandoned = 1;
  standing.intakes = {line, folder};
  OutletState till;
  till.name = "till", till.attempts = 12, till.sent = 7, till.failed = 5, till.parked = 1, till.in_memory = 2, till.in_flight = 1;
  till.resting = true;
  till.since = MetricsSample::at("07:00:01");
  auto meters = std::make_shared<delivery::OutletMeters>();
  for (const int us : {900, 1'000, 30'000'000}) meters->attempt.add(std::chrono::microseconds(us));
  meters->outcome_to_sent.add(std::chrono::hours(30));
  till.meters = std::move(meters);
  OutletState other;
  other.name = MetricsSample::kAwkward, other.paused = true;
  standing.outlets = {till, other};
  standing.writer.queued = 17;
  return standing;
}

}  // namespace

Instant MetricsSample::at(const std::string& time) { return *base::parse_rfc3339("2026-11-02T" + time + "Z"); }

MetricsSample::MetricsSample(const std::filesystem::path& folder) : house(make_house()), standing(make_standing()) {
  fill(meters);
  ledger = must(Ledger::open(folder / "ledger.db"), "open");
  must(ledger->begin().ok(), "begin");
  write_readings(*ledger);
  write_deliveries(*ledger);
  must(ledger->commit().ok(), "commit");
  teller = std::make_unique<LedgerTeller>(must(Ledger::read(folder / "ledger.db"), "read"));
}

}  // namespace girdle::api
