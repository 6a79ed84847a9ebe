// Deliveries: what was told to whom, and what the receiver said.
#include "api/attempt.h"
#include "api/identifier.h"
#include "api/list.h"
#include "api/problem.h"
#include "api/query.h"
#include "api/resources.h"

namespace girdle::api {
namespace {

constexpr char kList = 'v';

// Without the end of the object.
void begin_delivery(base::JsonWriter& json, ledger::Ledger& ledger, const ledger::DeliveryLine& line) {
  const ledger::DeliveryRow& row = line.row;
  json.begin_object().member("id", row.id).member("outlet", std::string_view(line.outlet));
  json.member("case", std::string_view(ledger.case_id(row.case_number))).member("key", std::string_view(line.key));
  json.member("sequence", row.sequence).member("state", model::text(row.state));
  json.member("attempts", row.attempts).member("made", row.made);
  time_member(json, "due_at", row.due);
  status_member(json, row.status);
  json.member_or_null("note", row.note).member_or_null("reference", row.reference);
  json.member("changed_at", std::string_view(base::format_rfc3339(row.changed_at)));
}

}  // namespace

Response list_deliveries(const Call& call, Teller& teller) {
  Query query(call.request, {"q", "outlet", "state", "since", "until", "limit", "cursor"});
  ledger::Filter filter;
  filter.stock_number = prefix_of(query, "q");
  filter.outlet = query.text("outlet");
  const auto state =
      query.word<model::DeliveryState>("state", model::delivery_state_of, {"waiting", "sent", "parked", "skipped"});
  if (state) filter.word = model::text(*state);
  read_span(query, filter);
  const ledger::Page page = page_of(query, call.request, kList);
  if (!query.is_right()) return problem(400, query.problem());
  ListWriter list;
  const auto next = teller.ledger().page_of_deliveries(filter, page, [&](const ledger::DeliveryLine& line) {
    begin_delivery(list.item(), teller.ledger(), line);
    list.item().end_object();
  });
  if (!next) return problem(next.error());
  return list.finish(kList, *next);
}

Response show_delivery(const Call& call, Teller& teller) {
  const Query query(call.request, {});
  if (!query.is_right()) return problem(400, query.problem());
  const auto number = number_of(call.parts[0]);
  if (!number) return no_such("delivery", call.parts[0], "/api/v1/deliveries");
  const auto line = teller.ledger().delivery_line(*number);
  if (!line) return problem(line.error());
  if (!*line) return no_such("delivery", call.parts[0], "/api/v1/deliveries");
  const auto attempts = teller.ledger().attempts_of(*number);
  if (!attempts) return problem(attempts.error());
  const auto outcome = teller.outcome((*line)->row.case_number, (*line)->row.sequence);
  if (!outcome) return problem(outcome.error());
  Response response;
  base::JsonWriter json(response.body);
  begin_delivery(json, teller.ledger(), **line);
  json.key("tries").begin_array();
  for (const ledger::AttemptRow& attempt : *attempts) {
    json.begin_object().member("number", attempt.number);
    write_attempt_members(json, attempt);
    json.end_object();
  }
  std::string told;
  model::write_json(told, *outcome);
  json.end_array().key("outcome").raw(told).end_object();
  return response;
}

}  // namespace girdle::api
