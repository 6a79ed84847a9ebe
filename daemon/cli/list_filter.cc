#include "cli/list_filter.h"

#include "cli/moment.h"

namespace girdle::cli {

base::Result<ledger::Filter> filter_of(const ListOptions& options) {
  ledger::Filter filter;
  filter.stock_number = options.stock_number;
  filter.intake = options.intake;
  filter.instrument = options.instrument;
  filter.outlet = options.outlet;
  filter.word = options.word;
  filter.limit = options.limit;
  filter.open = !options.all;
  auto since = moment(options.since, base::Instant{});
  if (!since) return since.error();
  auto until = moment(options.until, base::Instant::max());
  if (!until) return until.error();
  filter.since = *since;
  filter.until = *until;
  return filter;
}

}  // namespace girdle::cli
