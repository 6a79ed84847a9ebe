// Declarations: what the inventory claims.
#include "api/list.h"
#include "api/problem.h"
#include "api/query.h"
#include "api/reading_line.h"
#include "api/resources.h"

namespace girdle::api {
namespace {

constexpr char kList = 'd';

}  // namespace

Response list_declarations(const Call& call, Teller& teller) {
  Query query(call.request, {"q", "limit", "cursor"});
  ledger::Filter filter;
  filter.stock_number = prefix_of(query, "q");
  const ledger::Page page = page_of(query, call.request, kList);
  if (!query.is_right()) return problem(400, query.problem());
  ListWriter list;
  const auto next = teller.ledger().page_of_declarations(
      filter, page, [&](const ledger::DeclarationLine& line) { write_declaration(list.item(), line); });
  if (!next) return problem(next.error());
  return list.finish(kList, *next);
}

}  // namespace girdle::api
