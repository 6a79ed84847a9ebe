// /health: whether the service does its work, for whoever restarts it or sends it work.
#include <algorithm>

#include "api/metrics.h"
#include "api/outlet_word.h"
#include "base/json.h"

namespace girdle::api {
namespace {

enum class Health : uint8_t { kOk, kDegraded, kFailing };

std::string_view text(Health health) {
  switch (health) {
    case Health::kOk: return "ok";
    case Health::kDegraded: return "degraded";
    case Health::kFailing: return "failing";
  }
  return {};
}

std::string_view ledger_word(const Standing& standing, Teller& teller) {
  if (!teller.ledger().outlets()) return "unreadable";
  return standing.writer.refused ? "refused" : "writable";
}

// One that the service does not tell of is not up: it was configured this moment, or could not begin.
IntakeState intake_of(const Standing& standing, const std::string& name) {
  const auto found = std::ranges::find(standing.intakes, name, &IntakeState::name);
  return found == standing.intakes.end() ? IntakeState() : *found;
}

OutletState outlet_of(const Standing& standing, const std::string& name) {
  const auto found = std::ranges::find(standing.outlets, name, &OutletState::name);
  return found == standing.outlets.end() ? OutletState() : *found;
}

Health health_of(const IntakeState& intake) {
  if (!intake.up) return Health::kFailing;
  return intake.trouble.empty() ? Health::kOk : Health::kDegraded;
}

// One that a person paused is as that person wants it. What is parked waits for a person, and its receiver knows less
// than it should.
Health health_of(const OutletState& outlet, int64_t parked) {
  return outlet.closed || outlet.resting || parked > 0 ? Health::kDegraded : Health::kOk;
}

// 0 where the ledger does not say, which is told of the ledger.
int64_t parked_at(ledger::Ledger& ledger, const std::string& outlet) {
  const auto number = ledger.find_outlet(outlet);
  if (!number) return 0;
  const auto totals = ledger.outlet_totals(*number);
  return totals ? totals->parked : 0;
}

}  // namespace

Response ready(const House& house, const Standing& standing, Teller& teller) {
  const std::string_view ledger = ledger_word(standing, teller);
  Health health = ledger == "writable" ? Health::kOk : Health::kFailing;
  std::string intakes, outlets;
  base::JsonWriter intake_json(intakes), outlet_json(outlets);
  intake_json.begin_array();
  for (const IntakeView& view : house.intakes) {
    const IntakeState intake = intake_of(standing, view.name);
    health = std::max(health, health_of(intake));
    intake_json.begin_object().member("name", std::string_view(view.name)).member("up", intake.up);
    intake_json.member("troubled", !intake.trouble.empty()).end_object();
  }
  intake_json.end_array();
  outlet_json.begin_array();
  for (const OutletView& view : house.outlets) {
    const OutletState outlet = outlet_of(standing, view.name);
    const int64_t parked = parked_at(teller.ledger(), view.name);
    health = std::max(health, health_of(outlet, parked));
    outlet_json.begin_object().member("name", std::string_view(view.name)).member("state", outlet_word(outlet));
    outlet_json.member("parked", parked).end_object();
  }
  outlet_json.end_array();
  Response response;
  response.status = health == Health::kFailing ? 503 : 200;
  base::JsonWriter json(response.body);
  json.begin_object().member("status", text(health)).member("ledger", ledger);
  json.key("intakes").raw(intakes).key("outlets").raw(outlets).end_object();
  return response;
}

Response live() {
  Response response;
  response.body = R"({"status":"ok"})";
  return response;
}

}  // namespace girdle::api
