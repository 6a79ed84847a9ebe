// Intakes: what is configured, and how it stands.
#include <algorithm>

#include "api/identifier.h"
#include "api/list.h"
#include "api/problem.h"
#include "api/query.h"
#include "api/resources.h"

namespace girdle::api {
namespace {

// One that the service does not tell of is not up: it was configured this moment, or could not begin.
void write_intake(base::JsonWriter& json, const IntakeView& view, const Standing& standing) {
  const auto at = std::ranges::find(standing.intakes, view.name, &IntakeState::name);
  const IntakeState state = at == standing.intakes.end() ? IntakeState() : *at;
  json.begin_object().member("name", std::string_view(view.name)).member("kind", std::string_view(view.kind));
  json.member("reader", std::string_view(view.reader)).key("makes").begin_array();
  for (const std::string& kind : view.makes) json.text(kind);
  json.end_array().member("up", state.up).member_or_null("trouble", state.trouble);
  json.member("documents", static_cast<int64_t>(state.documents)).member("bytes", static_cast<int64_t>(state.bytes));
  json.member("known", static_cast<int64_t>(state.known)).member("set_aside", static_cast<int64_t>(state.set_aside));
  json.member("in_flight", static_cast<int64_t>(state.in_flight));
  time_member(json, "last_at", state.last_at);
  json.end_object();
}

}  // namespace

Response list_intakes(const Call& call, Teller&, const Standing& standing) {
  const Query query(call.request, {});
  if (!query.is_right()) return problem(400, query.problem());
  ListWriter list;
  for (const IntakeView& view : call.house.intakes) write_intake(list.item(), view, standing);
  return list.finish('n', std::nullopt);
}

Response show_intake(const Call& call, Teller&, const Standing& standing) {
  const Query query(call.request, {});
  if (!query.is_right()) return problem(400, query.problem());
  const auto& intakes = call.house.intakes;
  const auto view =
      std::ranges::find(intakes, call.parts[0], [](const IntakeView& i) -> std::string_view { return i.name; });
  if (view == intakes.end()) return no_such("intake", call.parts[0], "/api/v1/intakes");
  Response response;
  base::JsonWriter json(response.body);
  write_intake(json, *view, standing);
  return response;
}

}  // namespace girdle::api
