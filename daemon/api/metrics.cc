#include "api/metrics.h"

#include <unistd.h>

#include <algorithm>
#include <fstream>

#include "api/instrument_clock.h"
#include "api/metric_families.h"
#include "api/openmetrics.h"
#include "api/outlet_word.h"

namespace girdle::api {
namespace {

using base::Instant;
using openmetrics::Exposition;

// Counted from then; nothing where nobody said when.
std::optional<Instant> known(Instant since) { return since == Instant() ? std::nullopt : std::optional(since); }

// Never negative: a clock may be set back.
std::chrono::microseconds age(Instant now, Instant then) { return std::max(now - then, base::Millis(0)); }

// Nothing: the kernel does not say.
std::optional<uint64_t> resident_bytes() {
  std::ifstream file("/proc/self/statm");
  uint64_t all = 0, resident = 0;
  if (!(file >> all >> resident)) return std::nullopt;
  return resident * static_cast<uint64_t>(::sysconf(_SC_PAGESIZE));
}

void tell_process(Exposition& out, const House& house, const Meters& meters, const std::optional<ServerState>& server) {
  out.info(families::kBuild, {house.version});
  if (const auto started = known(meters.started)) out.gauge(families::kStart, {}, *started);
  if (const auto bytes = resident_bytes()) out.gauge(families::kMemory, {}, *bytes);
  if (!server) return;
  out.gauge(families::kConnections, {}, server->connections);
  out.gauge(families::kListeners, {}, server->listeners);
}

void tell_records(Exposition& out, const Meters& meters) {
  const auto since = known(meters.started);
  out.counter(families::kReadings, {}, meters.readings, since);
  out.counter(families::kDuplicates, {}, meters.duplicates, since);
  out.counter(families::kCorrections, {}, meters.corrections, since);
  out.counter(families::kVoids, {}, meters.voids, since);
  out.counter(families::kDeclarations, {}, meters.declarations, since);
  out.counter(families::kScans, {}, meters.scans, since);
  out.counter(families::kAsides, {}, meters.asides, since);
  for (size_t i = 0; i < meters.outcomes.size(); ++i) {
    out.counter(families::kOutcomes, {model::text(static_cast<model::Disposition>(i))}, meters.outcomes[i], since);
  }
  out.counter(families::kByHand, {}, meters.decided_by_hand, since);
  meters.instruments.each([&](const InstrumentMeters::One& one) {
    out.counter(families::kInstrumentReadings, {one.serial}, one.readings, since);
    out.counter(families::kInstrumentVoids, {one.serial}, one.voids, since);
  });
}

void tell_writer(Exposition& out, const WriterState& writer, const Meters& meters) {
  out.gauge(families::kWriterQueue, {}, uint64_t{writer.queued});
  out.gauge(families::kWriterRefused, {}, writer.refused);
  out.histogram(families::kCommit, {}, meters.commit, known(meters.started));
}

void tell_intake(Exposition& out, const IntakeState& intake, Instant now) {
  const auto since = known(intake.since);
  out.gauge(families::kIntakeUp, {intake.name}, intake.up);
  out.gauge(families::kIntakeTrouble, {intake.name}, !intake.trouble.empty());
  out.counter(families::kIntakeDocuments, {intake.name}, intake.documents, since);
  out.counter(families::kIntakeBytes, {intake.name}, intake.bytes, since);
  out.counter(families::kIntakeKnown, {intake.name}, intake.known, since);
  out.counter(families::kIntakeAsides, {intake.name}, intake.set_aside, since);
  out.counter(families::kIntakeAbandoned, {intake.name}, intake.abandoned, since);
  out.counter(families::kIntakeFailed, {intake.name}, intake.failed, since);
  out.gauge(families::kIntakeInFlight, {intake.name}, intake.in_flight);
  if (intake.last_at) out.gauge(families::kIntakeLast, {intake.name}, age(now, *intake.last_at));
}

void tell_outlet(Exposition& out, const OutletState& outlet) {
  const auto since = known(outlet.since);
  out.states(families::kOutletState, {outlet.name}, kOutletWords, outlet_word(outlet));
  out.counter(families::kSent, {outlet.name}, outlet.sent, since);
  out.counter(families::kParked, {outlet.name}, outlet.parked, since);
  out.counter(families::kAttempts, {outlet.name}, outlet.attempts, since);
  out.counter(families::kFailedAttempts, {outlet.name}, outlet.failed, since);
  out.gauge(families::kOutletMemory, {outlet.name}, outlet.in_memory);
  out.gauge(families::kOutletInFlight, {outlet.name}, outlet.in_flight);
  if (!outlet.meters) return;
  out.histogram(families::kAttemptTime, {outlet.name}, outlet.meters->attempt, since);
  out.histogram(families::kOutcomeToSent, {outlet.name}, outlet.meters->outcome_to_sent, since);
}

base::Result<void> tell_deliveries(Exposition& out, const House& house, ledger::Ledger& ledger, Instant now) {
  for (const OutletView& outlet : house.outlets) {
    const auto totals = ledger.outlet_totals(ledger.find_outlet(outlet.name).value_or(0));
    if (!totals) return totals.error();
    out.gauge(families::kDeliveries, {outlet.name, "waiting"}, totals->waiting);
    out.gauge(families::kDeliveries, {outlet.name, "parked"}, totals->parked);
    out.gauge(families::kOldest, {outlet.name}, age(now, totals->oldest_waiting_at.value_or(now)));
  }
  return {};
}

base::Result<void> tell_instruments(Exposition& out, const House& house, ledger::Ledger& ledger, Instant now) {
  const auto rows = ledger.instruments();
  if (!rows) return rows.error();
  for (const InstrumentView& instrument : house.instruments) {
    const auto row = std::ranges::find(*rows, instrument.serial, &ledger::InstrumentRow::serial);
    if (row == rows->end()) continue;
    if (row->last_came_at) out.gauge(families::kInstrumentLast, {row->serial}, age(now, *row->last_came_at));
    const auto offset = clock_offset_of(ledger, house, row->number);
    if (!offset) return offset.error();
    if (*offset) out.gauge(families::kInstrumentClock, {row->serial}, std::chrono::microseconds(**offset));
  }
  return {};
}

bool tell_ledger(Exposition& out, const House& house, ledger::Ledger& ledger, Instant now) {
  const auto read = ledger.at_one_moment([&]() -> base::Result<void> {
    auto deliveries = tell_deliveries(out, house, ledger, now);
    auto instruments = tell_instruments(out, house, ledger, now);
    return deliveries ? instruments : deliveries;
  });
  return static_cast<bool>(read);
}

}  // namespace

Response metrics(const House& house, const Standing& standing, const Meters& meters, Teller& teller, Instant now,
                 const std::optional<ServerState>& server) {
  Exposition out(families::kAll);
  tell_process(out, house, meters, server);
  tell_records(out, meters);
  tell_writer(out, standing.writer, meters);
  for (const IntakeState& intake : standing.intakes) tell_intake(out, intake, now);
  for (const OutletState& outlet : standing.outlets) tell_outlet(out, outlet);
  out.gauge(families::kLedgerReadable, {}, tell_ledger(out, house, teller.ledger(), now));
  Response response;
  response.content_type = openmetrics::kContentType;
  response.body = out.text();
  return response;
}

}  // namespace girdle::api
