// Cases: found by stock number, disposition, state and time; and the story of one.
#include "api/case_line.h"
#include "api/identifier.h"
#include "api/list.h"
#include "api/problem.h"
#include "api/query.h"
#include "api/resources.h"

namespace girdle::api {
namespace {

constexpr char kList = 'c';

std::optional<ledger::CaseState> state_of(std::string_view word) {
  for (const auto state : {ledger::CaseState::kOpen, ledger::CaseState::kMerged, ledger::CaseState::kEmpty}) {
    if (text(state) == word) return state;
  }
  return std::nullopt;
}

}  // namespace

Response list_cases(const Call& call, Teller& teller) {
  Query query(call.request, {"q", "disposition", "state", "since", "until", "limit", "cursor"});
  ledger::Filter filter;
  filter.stock_number = prefix_of(query, "q");
  const auto disposition = query.word<model::Disposition>("disposition", model::disposition_of,
                                                          {"repeat", "release", "hold", "refer", "reject"});
  if (disposition) filter.word = model::text(*disposition);
  filter.state = query.word<ledger::CaseState>("state", state_of, {"open", "merged", "empty"});
  read_span(query, filter);
  const ledger::Page page = page_of(query, call.request, kList);
  if (!query.is_right()) return problem(400, query.problem());

  // The lines ask the ledger other things: not while it lists.
  std::vector<ledger::CaseLine> found;
  const auto next =
      teller.ledger().page_of_cases(filter, page, [&](const ledger::CaseLine& line) { found.push_back(line); });
  if (!next) return problem(next.error());
  ListWriter list;
  for (const ledger::CaseLine& line : found) {
    const auto told = case_line(teller, line);
    if (!told) return problem(told.error());
    list.add(*told);
  }
  return list.finish(kList, *next);
}

Response show_case(const Call& call, Teller& teller) {
  const Query query(call.request, {});
  if (!query.is_right()) return problem(400, query.problem());
  const auto number = teller.ledger().case_number(call.parts[0]);
  if (!number) return no_such("case", call.parts[0], "/api/v1/cases");
  auto story = teller.story(*number);
  if (!story) return problem(story.error());
  if (!*story) return no_such("case", call.parts[0], "/api/v1/cases");
  Response response;
  response.body = std::move(**story);
  return response;
}

}  // namespace girdle::api
