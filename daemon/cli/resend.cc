// girdled resend.
#include <algorithm>
#include <deque>
#include <limits>
#include <ostream>
#include <utility>

#include "base/json.h"
#include "base/text.h"
#include "cli/control_call.h"
#include "cli/moment.h"
#include "cli/open_ledger.h"
#include "cli/table_view.h"

namespace girdle::cli {
namespace {

using base::Result;
using ledger::ResendFate;
using ledger::Resent;
using ledger::Selection;

constexpr size_t kShown = 50;  // of a dry run

// "q1w2e3r4-65536-3", as receivers know it: the number that the ledger has for it, at each outlet.
Result<std::vector<int64_t>> deliveries_of(ledger::Ledger& ledger, const std::string& id, const std::string& outlet) {
  if (!id.empty() && id.size() <= 18 && std::all_of(id.begin(), id.end(), base::is_digit)) {
    return std::vector<int64_t>{std::stoll(id)};
  }
  const size_t dash = std::min(id.rfind('-'), id.size());
  ledger::Filter filter;
  filter.case_number = ledger.case_number(id.substr(0, dash)).value_or(0);
  filter.outlet = outlet;
  filter.limit = std::numeric_limits<int64_t>::max();
  std::vector<int64_t> found;
  if (filter.case_number != 0) {
    const auto done = ledger.each_delivery(filter, [&](const ledger::DeliveryRow& row, const auto&, const auto&) {
      if (id.substr(dash) == '-' + std::to_string(row.sequence)) found.push_back(row.id);
    });
    if (!done) return done.error();
  }
  if (found.empty()) {
    return base::input_error("there is no delivery " + base::in_quotes(id) +
                             "; girdled deliveries lists them with their numbers");
  }
  return found;
}

// One, or where an event went to several outlets one for each.
Result<std::vector<Selection>> selections_of(ledger::Ledger& ledger, const ResendOptions& options) {
  if (!options.outlet.empty() && !ledger.find_outlet(options.outlet)) {
    return base::call_error("the ledger knows no outlet " + base::in_quotes(options.outlet) +
                            "; girdled outlet list names all");
  }
  Selection selection;
  selection.stock_number = options.stock_number;
  selection.parked = options.parked;
  selection.outlet = options.outlet;
  for (const auto& [text, to] : {std::pair(&options.since, &selection.since), std::pair(&options.until, &selection.until)}) {
    if (text->empty()) continue;
    auto at = moment(*text, base::Instant{});
    if (!at) return at.error();
    *to = *at;
  }
  if (options.delivery.empty()) return std::vector<Selection>{selection};
  auto numbers = deliveries_of(ledger, options.delivery, options.outlet);
  if (!numbers) return numbers.error();
  std::vector<Selection> selections;
  for (const int64_t number : *numbers) {
    selection.delivery = number;
    selections.push_back(selection);
  }
  return selections;
}

void add_up(Resent& sum, const Resent& one) {
  sum.again += one.again;
  sum.overtaken += one.overtaken;
  sum.waiting += one.waiting;
}

const char* told(ResendFate fate) {
  switch (fate) {
    case ResendFate::kAgain: return "would be sent again";
    case ResendFate::kOvertaken: return "stays: a later outcome has its place";
    case ResendFate::kWaiting: return "waits; would be due now";
  }
  return "";
}

Result<Resent> look(Screen& screen, OpenLedger& open, const std::vector<Selection>& selections, bool json) {
  std::deque<std::vector<std::string>> lines;  // of the newest
  Resent sum;
  size_t count = 0;
  for (auto selection = selections.rbegin(); selection != selections.rend(); ++selection) {  // the newest is first
    const auto seen = open.ledger->look_at_resend(*selection, [&](const ledger::DeliveryRow& row, const std::string& outlet,
                                                                 const std::string& key, ResendFate fate) {
      ++count;
      lines.push_front({std::to_string(row.id), key + ' ' + std::to_string(row.sequence), outlet,
                        std::string(model::text(row.state)), told(fate)});
      if (lines.size() > kShown) lines.pop_back();
    });
    if (!seen) return seen.error();
    add_up(sum, *seen);
  }
  TableView table({"ID", "STOCK NUMBER", "OUTLET", "STATE", "THEN"});
  for (auto& line : lines) table.add(std::move(line));
  if (!json && !table.empty()) table.print(screen);
  if (!json && count > kShown) screen.out << "… and " << count - kShown << " more\n";
  return sum;
}

Result<Resent> send_again(OpenLedger& open, const std::vector<Selection>& selections) {
  Resent sum;
  for (const Selection& selection : selections) {
    auto answer = ask_or_do(open.settings.ledger, service::ResendRequest{selection});
    if (!answer) return answer.error();
    add_up(sum, answer->resent);
  }
  return sum;
}

void tell(Screen& screen, const Resent& resent, bool is_dry) {
  const auto line = [&](int64_t count, const char* one, const char* many) {
    if (count == 1) screen.out << "1 delivery " << one << '\n';
    if (count > 1) screen.out << count << " deliveries " << many << '\n';
  };
  if (is_dry) {
    line(resent.again, "would be sent again", "would be sent again");
    line(resent.waiting, "waits anyhow, and would be due now", "wait anyhow, and would be due now");
  } else {
    line(resent.again, "is sent again, under the id that it has", "are sent again, under the ids that they have");
    line(resent.waiting, "waits anyhow; it is due now", "wait anyhow; they are due now");
  }
  line(resent.overtaken, "stays as it is: a later outcome of its case has its place",
       "stay as they are: later outcomes of their cases have their places");
}

void tell_json(Screen& screen, const Resent& resent, bool is_dry) {
  std::string out;
  base::JsonWriter json(out);
  json.begin_object().member("again", resent.again).member("waiting", resent.waiting);
  json.member("overtaken", resent.overtaken).member("dry_run", is_dry).end_object();
  screen.out << out << '\n';
}

// Nothing leaves to an outlet that a person, or its receiver, has stopped.
void warn_of_stopped_outlets(Screen& screen, OpenLedger& open, const std::string& only) {
  const auto outlets = open.ledger->outlets();
  if (!outlets) return;
  for (const ledger::OutletRow& outlet : *outlets) {
    if (!only.empty() && outlet.name != only) continue;
    if (outlet.closed.empty() && outlet.paused.empty()) continue;
    screen.err << "the outlet " << outlet.name << " is " << (outlet.closed.empty() ? "paused" : "closed")
               << "; nothing goes to it before  girdled outlet resume " << outlet.name << '\n';
  }
}

}  // namespace

int resend(Screen& screen, const std::filesystem::path& config, const ResendOptions& options) {
  auto open = open_ledger(config);
  if (!open) return fail(screen, open.error());
  const auto selections = selections_of(*open->ledger, options);
  if (!selections) return fail(screen, selections.error());
  const auto resent = options.dry_run ? look(screen, *open, *selections, options.json) : send_again(*open, *selections);
  if (!resent) return fail(screen, resent.error());
  const bool is_any = resent->again + resent->waiting + resent->overtaken > 0;
  if (options.json) {
    tell_json(screen, *resent, options.dry_run);
  } else if (is_any) {
    tell(screen, *resent, options.dry_run);
  } else {
    screen.err << "No delivery is meant by this.\n";
  }
  if (resent->again + resent->waiting > 0) warn_of_stopped_outlets(screen, *open, options.outlet);
  // That none is parked is well; a stock number, or a delivery, that cannot go out is not.
  const bool is_named = !options.stock_number.empty() || !options.delivery.empty();
  return is_named && resent->again + resent->waiting == 0 ? 1 : 0;
}

}  // namespace girdle::cli
