// What the program offers: every part of api/ together.
#include <algorithm>
#include <utility>

#include "api/case_line.h"
#include "api/limits.h"
#include "api/metrics.h"
#include "api/offer.h"
#include "api/server.h"
#include "base/json.h"

namespace girdle::api {
namespace {

base::Result<std::vector<KnownToken>> tokens_of(Teller& teller) {
  const auto rows = teller.ledger().tokens();
  if (!rows) return rows.error();
  std::vector<KnownToken> tokens;
  for (const ledger::TokenRow& row : *rows) {
    // A role that is none lets nobody in.
    const auto role = role_of(row.role);
    tokens.push_back({row.id, row.name, role.value_or(Role::kNobody), row.digest, row.revoked_at.has_value() || !role});
  }
  return tokens;
}

// The instrument of the case's last measurement; empty where it has lost all of them.
base::Result<std::string> instrument_of(ledger::Ledger& ledger, const ledger::CaseRow& row) {
  const auto readings = ledger.readings_of(ledger::subject_of(row.number), row.last_at, row.last_at);
  if (!readings) return readings.error();
  const auto last = std::ranges::find_if(
      *readings, [&](const auto& one) { return one.live && one.reading.measured_at == row.last_at; });
  return last == readings->end() ? std::string() : last->reading.instrument;
}

std::string bench_of(const House& house, const std::string& instrument) {
  const auto at = std::ranges::find(house.instruments, instrument, &InstrumentView::serial);
  return at == house.instruments.end() ? std::string() : at->bench;
}

base::Result<std::string> line_of(Teller& teller, const House& house, const Happening::Decided& decided) {
  const auto row = teller.ledger().case_line(decided.case_number);
  if (!row) return row.error();
  if (!*row) return base::input_error("the ledger has no such case");
  const auto instrument = instrument_of(teller.ledger(), (**row).row);
  if (!instrument) return instrument.error();
  const auto line = case_line(teller, **row);
  if (!line) return line.error();
  std::string out;
  base::JsonWriter json(out);
  json.begin_object().member_or_null("bench", bench_of(house, *instrument)).member_or_null("instrument", *instrument);
  json.key("case").raw(*line).end_object();
  return out;
}

}  // namespace

Offer standard_offer() {
  Offer offer;
  offer.routes = routes();
  offer.files = console_files();
  offer.tokens = tokens_of;
  offer.line = line_of;
  offer.metrics = [](const House& house, const Standing& standing, const Meters& meters, Teller& teller,
                     base::Instant now,
                     const ServerState& server) { return metrics(house, standing, meters, teller, now, server); };
  offer.ready = ready;
  offer.live = live;
  return offer;
}

base::Result<std::unique_ptr<Server>> Server::create(const ServerSettings& settings, const Parts& parts) {
  return create(settings, parts, standard_offer(), Limits());
}

}  // namespace girdle::api
