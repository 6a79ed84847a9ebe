// girdled outlet list, pause, resume.
#include <algorithm>
#include <map>
#include <ostream>

#include "base/json.h"
#include "base/text.h"
#include "base/time.h"
#include "cli/control_call.h"
#include "cli/open_ledger.h"
#include "cli/table_view.h"

namespace girdle::cli {
namespace {

using base::Result;
using model::DeliveryState;

struct OutletLine {
  ledger::OutletRow row;
  std::map<DeliveryState, int64_t> deliveries;  // how many, by state
  bool is_configured = true;
  bool is_known = true;  // to the ledger

  const char* state() const { return !row.closed.empty() ? "closed" : !row.paused.empty() ? "paused" : "open"; }
  const std::string& why() const { return row.closed.empty() ? row.paused : row.closed; }
  int64_t count(DeliveryState of) const {
    const auto at = deliveries.find(of);
    return at == deliveries.end() ? 0 : at->second;
  }
};

// Those of the ledger, then those that the service has not run with yet.
Result<std::vector<OutletLine>> outlets_of(OpenLedger& open) {
  auto rows = open.ledger->outlets();
  if (!rows) return rows.error();
  std::vector<OutletLine> lines;
  const auto& configured = open.settings.outlets;
  for (ledger::OutletRow& row : *rows) {
    const bool is_configured =
        std::any_of(configured.begin(), configured.end(), [&](const config::Outlet& one) { return one.name == row.name; });
    OutletLine& line = lines.emplace_back();
    line.row = std::move(row);
    line.is_configured = is_configured;
  }
  const auto counts = open.ledger->count_deliveries();
  if (!counts) return counts.error();
  for (const auto& [key, count] : *counts) {
    for (OutletLine& line : lines) {
      if (line.row.number == key.first) line.deliveries[key.second] = count;
    }
  }
  const size_t known = lines.size();
  for (const config::Outlet& one : configured) {
    const auto end = lines.begin() + static_cast<std::ptrdiff_t>(known);
    if (std::any_of(lines.begin(), end, [&](const OutletLine& line) { return line.row.name == one.name; })) continue;
    OutletLine& line = lines.emplace_back();
    line.row.name = one.name;
    line.is_known = false;
  }
  return lines;
}

std::string note_of(const OutletLine& line, const std::string& timezone) {
  if (!line.is_known) return "the service has not run with it yet";
  std::string note = line.why();
  if (line.row.closed.empty() && line.row.paused_at) note += " (since " + local_time(*line.row.paused_at, timezone) + ')';
  if (!line.is_configured) note = note.empty() ? "no longer in the configuration" : note + "; no longer in the configuration";
  return note;
}

void print_json(Screen& screen, const OutletLine& line) {
  std::string out;
  base::JsonWriter json(out);
  json.begin_object().member("outlet", std::string_view(line.row.name)).member("state", line.state());
  json.member_or_null("why", line.why());
  json.member_or_null("paused_at", line.row.paused_at ? base::format_rfc3339(*line.row.paused_at) : std::string());
  for (const DeliveryState state : {DeliveryState::kWaiting, DeliveryState::kParked, DeliveryState::kSent, DeliveryState::kSkipped}) {
    json.member(model::text(state), line.count(state));
  }
  json.member("configured", line.is_configured).end_object();
  screen.out << out << '\n';
}

// Which outlets there are has to be known before one is asked for: a wrong name is a wrong call.
Result<OpenLedger> open_with_outlet(const std::filesystem::path& config, const std::string& name) {
  auto open = open_ledger(config);
  if (!open || open->ledger->find_outlet(name)) return open;
  auto rows = open->ledger->outlets();
  if (!rows) return rows.error();
  std::vector<std::string> names;
  for (const ledger::OutletRow& row : *rows) names.push_back(row.name);
  return base::call_error("the ledger knows no outlet " + base::in_quotes(name) +
                          (names.empty() ? "" : "; it knows " + base::listed(names)));
}

}  // namespace

int list_outlets(Screen& screen, const std::filesystem::path& config, bool as_json) {
  auto open = open_ledger(config);
  if (!open) return fail(screen, open.error());
  const auto lines = outlets_of(*open);
  if (!lines) return fail(screen, lines.error());
  TableView table({"OUTLET", "STATE", "WAITING", "PARKED", "SENT", "WHY"});
  for (const OutletLine& line : *lines) {
    if (as_json) {
      print_json(screen, line);
      continue;
    }
    table.add({line.row.name, line.state(), std::to_string(line.count(DeliveryState::kWaiting)),
               std::to_string(line.count(DeliveryState::kParked)), std::to_string(line.count(DeliveryState::kSent)),
               note_of(line, open->settings.timezone)});
  }
  if (as_json) return 0;
  if (table.empty()) {
    screen.err << "No outlets.\n";
  } else {
    table.print(screen);
  }
  return 0;
}

int pause_outlet(Screen& screen, const std::filesystem::path& config, const std::string& name, const std::string& why) {
  const auto open = open_with_outlet(config, name);
  if (!open) return fail(screen, open.error());
  const auto answer = ask_or_do(open->settings.ledger, service::PauseRequest{name, caller() + ": " + why});
  if (!answer) return fail(screen, answer.error());
  screen.out << "the outlet " << name << (answer->changed ? " is paused" : " was paused already")
             << "; its deliveries wait until  girdled outlet resume " << name << '\n';
  return 0;
}

int resume_outlet(Screen& screen, const std::filesystem::path& config, const std::string& name) {
  const auto open = open_with_outlet(config, name);
  if (!open) return fail(screen, open.error());
  const auto answer = ask_or_do(open->settings.ledger, service::ResumeRequest{name});
  if (!answer) return fail(screen, answer.error());
  screen.out << "the outlet " << name << (answer->changed ? " is open again" : " was open already");
  if (const int64_t due = answer->resent.waiting; due > 0) {
    screen.out << "; " << due << (due == 1 ? " delivery that waited is" : " deliveries that waited are") << " due now";
  }
  screen.out << '\n';
  return 0;
}

}  // namespace girdle::cli
