// Readings: what instruments said, as it came.
#include "api/identifier.h"
#include "api/list.h"
#include "api/problem.h"
#include "api/query.h"
#include "api/reading_line.h"
#include "api/resources.h"

namespace girdle::api {
namespace {

constexpr char kList = 'r';

}  // namespace

Response list_readings(const Call& call, Teller& teller) {
  Query query(call.request, {"q", "instrument", "intake", "finding", "unbound", "since", "until", "limit", "cursor"});
  ledger::Filter filter;
  filter.stock_number = prefix_of(query, "q");
  filter.instrument = query.text("instrument");
  filter.intake = query.text("intake");
  const auto finding = query.word<model::Finding>(
      "finding", model::finding_of,
      {"natural", "laboratory_grown", "treated", "composite", "simulant", "indeterminate", "void"});
  if (finding) filter.word = model::text(*finding);
  filter.unbound = query.flag("unbound");
  read_span(query, filter);
  if (filter.unbound && !filter.stock_number.empty())
    query.refuse("q and unbound do not go together: what is unbound has no stock number");
  const ledger::Page page = page_of(query, call.request, kList);
  if (!query.is_right()) return problem(400, query.problem());

  std::vector<ledger::ReadingLine> found;
  const auto next =
      teller.ledger().page_of_readings(filter, page, [&](const ledger::ReadingLine& line) { found.push_back(line); });
  if (!next) return problem(next.error());
  ListWriter list;
  for (const ledger::ReadingLine& line : found) write_reading(list.item(), teller.ledger(), line);
  return list.finish(kList, *next);
}

Response show_reading(const Call& call, Teller& teller) {
  const Query query(call.request, {});
  if (!query.is_right()) return problem(400, query.problem());
  ledger::Ledger& ledger = teller.ledger();
  const auto number = number_of(call.parts[0]);
  if (!number) return no_such("reading", call.parts[0], "/api/v1/readings");
  const auto line = ledger.reading_line(*number);
  if (!line) return problem(line.error());
  if (!*line) return no_such("reading", call.parts[0], "/api/v1/readings");
  const auto duplicates = ledger.receipts_of(ledger::Ledger::ReceiptKind::kReading, *number);
  if (!duplicates) return problem(duplicates.error());
  Response response;
  base::JsonWriter json(response.body);
  write_reading(json, ledger, **line, &*duplicates);
  return response;
}

}  // namespace girdle::api
