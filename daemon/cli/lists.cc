// girdled cases, readings, aside.
#include <ostream>

#include "base/json.h"
#include "base/text.h"
#include "base/time.h"
#include "cli/list_filter.h"
#include "cli/open_ledger.h"
#include "cli/table_view.h"

namespace girdle::cli {
namespace {

using base::JsonWriter;

std::string time_text(const std::optional<base::Instant>& time) { return time ? base::format_rfc3339(*time) : std::string(); }

// Opens, filters, lists, prints: what the three have in common.
template <class Fill>
int list(Screen& screen, const std::filesystem::path& config, const ListOptions& options, TableView view,
         const char* nothing, Fill fill) {
  auto filter = filter_of(options);
  if (!filter) return fail(screen, filter.error());
  auto open = open_ledger(config);
  if (!open) return fail(screen, open.error());
  auto done = fill(*open, *filter, view);
  if (!done) return fail(screen, done.error());
  if (options.json) return 0;
  if (view.empty()) {
    screen.err << nothing << '\n';
  } else {
    view.print(screen);
  }
  return 0;
}

}  // namespace

int list_cases(Screen& screen, const std::filesystem::path& config, const ListOptions& options) {
  TableView view({"STOCK NUMBER", "DISPOSITION", "FINDING", "RUNS", "DECIDED", "REASON"});
  const auto fill = [&](OpenLedger& open, const ledger::Filter& filter, TableView& table) {
    return open.ledger->each_case(filter, [&](const ledger::CaseLine& line) {
      const model::Evidence& evidence = line.outcome.decision.evidence;
      if (options.json) {
        std::string out;
        auto outcome = service::told_outcome(*open.ledger, *open.shelf, line.row.number, line.row.sequence,
                                             open.settings.site);
        if (!outcome) return;
        model::write_json(out, *outcome);
        screen.out << out << '\n';
        return;
      }
      table.add({line.key, std::string(model::text(line.outcome.decision.disposition)),
                 std::string(model::text(evidence.finding)),
                 std::to_string(evidence.valid) + "/" + std::to_string(evidence.required),
                 local_time(line.outcome.decided_at, open.settings.timezone), line.outcome.decision.reason});
    });
  };
  const int code = list(screen, config, options, std::move(view), "No cases.", fill);
  if (code == 0 && !options.json && screen.terminal) screen.out << dim(screen, model::kNotice) << '\n';
  return code;
}

int list_readings(Screen& screen, const std::filesystem::path& config, const ListOptions& options) {
  TableView view({"MEASURED", "INSTRUMENT", "RUN", "STOCK NUMBER", "FINDING", "COUNTS"});
  return list(screen, config, options, std::move(view), "No readings.",
              [&](OpenLedger& open, const ledger::Filter& filter, TableView& table) {
                return open.ledger->each_reading(filter, [&](const ledger::StoredReading& stored) {
                  const model::Reading& r = stored.reading;
                  if (options.json) {
                    std::string out;
                    model::write_json(out, r);
                    screen.out << out << '\n';
                    return;
                  }
                  const char* counts = !stored.live       ? "corrected by a newer record"
                                       : stored.pair != 0 ? "second route of a measurement"
                                       : stored.subject == 0 ? "unbound: no stock number"
                                                             : "yes";
                  table.add({local_time(r.measured_at, open.settings.timezone), r.instrument, r.run,
                             model::subject_key(r.stock_number, r.position), std::string(model::text(r.finding)), counts});
                });
              });
}

int list_aside(Screen& screen, const std::filesystem::path& config, const ListOptions& options) {
  std::vector<std::string> heads = {"SET ASIDE", "INTAKE", "DOCUMENT", "LINE", "REASON"};
  if (options.all) heads.insert(heads.begin() + 4, "READ SINCE");
  TableView view(std::move(heads));
  return list(screen, config, options, std::move(view), "Nothing is set aside.",
              [&](OpenLedger& open, const ledger::Filter& filter, TableView& table) {
                return open.ledger->each_aside(filter, [&](const ledger::AsideRow& row) {
                  if (options.json) {
                    std::string out;
                    JsonWriter json(out);
                    json.begin_object().member("id", row.id);
                    json.member("intake", std::string_view(row.intake)).member("document", std::string_view(row.document));
                    json.member("at", std::string_view(base::format_rfc3339(row.at)));
                    json.key("aside");
                    std::string inner;
                    model::write_json(inner, row.aside);
                    json.raw(inner);
                    json.member_or_null("settled_at", time_text(row.settled_at));
                    json.member_or_null("tried_at", time_text(row.tried_at)).end_object();
                    screen.out << out << '\n';
                    return;
                  }
                  const std::string& zone = open.settings.timezone;
                  std::vector<std::string> cells = {local_time(row.at, zone), row.intake, row.document,
                                                    row.aside.place.line == 0 ? "" : std::to_string(row.aside.place.line),
                                                    row.aside.reason};
                  if (options.all) cells.insert(cells.begin() + 4, row.settled_at ? local_time(*row.settled_at, zone) : "");
                  table.add(std::move(cells));
                });
              });
}

}  // namespace girdle::cli
