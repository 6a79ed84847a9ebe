// Outlets: what waits, what was given up, and how the last attempt ended.
#include <algorithm>

#include "api/attempt.h"
#include "api/identifier.h"
#include "api/list.h"
#include "api/problem.h"
#include "api/query.h"
#include "api/resources.h"

namespace girdle::api {
namespace {

using base::Result;

// How it stands, and why: what a person has to undo comes before what passes by itself.
struct Stand {
  std::string_view state = "open";
  std::string_view why;
};
Stand stand_of(const ledger::OutletRow& row, const OutletState& live) {
  if (!row.closed.empty()) return {"closed", row.closed};
  if (!row.paused.empty()) return {"paused", row.paused};
  if (live.resting) return {"resting", "its last attempts failed one after another; it is tried again by itself"};
  return {};
}

Result<void> write_outlet(base::JsonWriter& json, ledger::Ledger& ledger, const OutletView& view,
                          const ledger::OutletRow& row, const Standing& standing) {
  const auto at = std::ranges::find(standing.outlets, view.name, &OutletState::name);
  const OutletState live = at == standing.outlets.end() ? OutletState() : *at;
  ledger::OutletTotals totals;
  if (row.number != 0) {
    auto found = ledger.outlet_totals(row.number);
    if (!found) return found.error();
    totals = std::move(found).value();
  }
  const Stand stand = stand_of(row, live);
  json.begin_object().member("name", std::string_view(view.name)).member("kind", std::string_view(view.kind));
  json.member("state", stand.state).member_or_null("why", stand.why);
  json.member("waiting", totals.waiting).member("sent", totals.sent);
  json.member("parked", totals.parked).member("skipped", totals.skipped);
  time_member(json, "oldest_waiting_at", totals.oldest_waiting_at);
  json.member("in_flight", static_cast<int64_t>(live.in_flight)).key("last");
  if (totals.last) {
    json.begin_object();
    write_attempt_members(json, *totals.last);
    json.end_object();
  } else {
    json.null();
  }
  json.end_object();
  return {};
}

// One to which nothing was ever addressed has no row.
ledger::OutletRow row_of(const std::vector<ledger::OutletRow>& rows, const std::string& name) {
  const auto at = std::ranges::find(rows, name, &ledger::OutletRow::name);
  return at == rows.end() ? ledger::OutletRow() : *at;
}

}  // namespace

Response list_outlets(const Call& call, Teller& teller, const Standing& standing) {
  const Query query(call.request, {});
  if (!query.is_right()) return problem(400, query.problem());
  const auto rows = teller.ledger().outlets();
  if (!rows) return problem(rows.error());
  ListWriter list;
  for (const OutletView& view : call.house.outlets) {
    const auto done = write_outlet(list.item(), teller.ledger(), view, row_of(*rows, view.name), standing);
    if (!done) return problem(done.error());
  }
  return list.finish('o', std::nullopt);
}

Response show_outlet(const Call& call, Teller& teller, const Standing& standing) {
  const Query query(call.request, {});
  if (!query.is_right()) return problem(400, query.problem());
  const auto& outlets = call.house.outlets;
  const auto view =
      std::ranges::find(outlets, call.parts[0], [](const OutletView& o) -> std::string_view { return o.name; });
  if (view == outlets.end()) return no_such("outlet", call.parts[0], "/api/v1/outlets");
  const auto rows = teller.ledger().outlets();
  if (!rows) return problem(rows.error());
  Response response;
  base::JsonWriter json(response.body);
  const auto done = write_outlet(json, teller.ledger(), *view, row_of(*rows, view->name), standing);
  if (!done) return problem(done.error());
  return response;
}

}  // namespace girdle::api
