// All that is known under one stock number, with a case or without.
#include <algorithm>
#include <functional>

#include "api/case_line.h"
#include "api/identifier.h"
#include "api/problem.h"
#include "api/query.h"
#include "api/reading_line.h"
#include "api/resources.h"

namespace girdle::api {
namespace {

using base::Instant;
using base::Result;
using ledger::CaseRow;
using ledger::Ledger;
using ledger::Number;

constexpr size_t kMost = 200;  // of each, the newest: a known stone is measured every day

Result<void> write_cases(base::JsonWriter& json, Teller& teller, const std::vector<CaseRow>& cases) {
  json.key("cases").begin_array();
  size_t count = 0;
  for (auto row = cases.rbegin(); row != cases.rend() && count < kMost; ++row, ++count) {
    const auto line = case_line(teller, row->number);
    if (!line) return line.error();
    json.raw(*line);
  }
  json.end_array();
  return {};
}

Result<void> write_declarations(base::JsonWriter& json, Ledger& ledger, Number subject, std::string_view key) {
  auto declarations = ledger.declarations_of(subject);
  if (!declarations) return declarations.error();
  std::ranges::sort(*declarations, std::greater(), &ledger::StoredDeclaration::id);
  declarations->resize(std::min(declarations->size(), kMost));
  json.key("declarations").begin_array();
  for (ledger::StoredDeclaration& stored : *declarations) {
    auto arrival = ledger.arrival(stored.document);
    if (!arrival) return arrival.error();
    write_declaration(json, {std::move(stored), std::string(key), std::move(arrival).value()});
  }
  json.end_array();
  return {};
}

// The times that no case covers.
std::vector<std::pair<Instant, Instant>> gaps_between(std::vector<CaseRow> cases) {
  std::erase_if(cases, [](const CaseRow& row) { return row.state != ledger::CaseState::kOpen; });
  std::ranges::sort(cases, {}, &CaseRow::first_at);
  std::vector<std::pair<Instant, Instant>> gaps;
  Instant from = Instant::min();
  for (const CaseRow& row : cases) {
    if (from < row.first_at) gaps.emplace_back(from, row.first_at - base::Millis(1));
    from = std::max(from, row.last_at + base::Millis(1));
  }
  gaps.emplace_back(from, Instant::max());
  return gaps;
}

// Corrected ones, where what corrected them has another stock number. A second route that lies behind its case is in
// it.
Result<void> write_readings_without_case(base::JsonWriter& json, Ledger& ledger, Number subject,
                                         const std::vector<CaseRow>& cases) {
  json.key("readings_without_case").begin_array();
  size_t count = 0;
  for (const auto& [from, to] : gaps_between(cases)) {
    const auto readings = ledger.readings_of(subject, from, to);
    if (!readings) return readings.error();
    for (const ledger::StoredReading& stored : *readings) {
      if (stored.pair != 0 || count == kMost) continue;
      const auto line = ledger.reading_line(stored.id);
      if (!line) return line.error();
      if (!*line) continue;
      write_reading(json, ledger, **line);
      ++count;
    }
  }
  json.end_array();
  return {};
}

}  // namespace

Response show_subject(const Call& call, Teller& teller) {
  const Query query(call.request, {});
  if (!query.is_right()) return problem(400, query.problem());
  Ledger& ledger = teller.ledger();
  const std::string_view key = call.parts[0];
  const auto subject = ledger.find_subject(key);
  if (!subject) return no_such("stock number", key, "/api/v1/cases");
  const auto cases = ledger.cases_of(*subject);
  if (!cases) return problem(cases.error());
  Response response;
  base::JsonWriter json(response.body);
  json.begin_object().member("key", key);
  if (const auto done = write_cases(json, teller, *cases); !done) return problem(done.error());
  if (const auto done = write_declarations(json, ledger, *subject, key); !done) return problem(done.error());
  if (const auto done = write_readings_without_case(json, ledger, *subject, *cases); !done)
    return problem(done.error());
  json.end_object();
  return response;
}

}  // namespace girdle::api
