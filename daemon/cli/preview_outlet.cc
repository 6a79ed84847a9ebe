// preview --outlet: what would be sent, byte for byte.
#include <algorithm>
#include <ostream>

#include "base/text.h"
#include "cli/commands.h"
#include "cli/open_ledger.h"
#include "delivery/message_preview.h"
#include "service/check.h"

namespace girdle::cli {
namespace {

// Of no stone: for an outlet that is being set up before the first one is measured.
model::Outcome invented_outcome(const std::string& site, base::Instant now) {
  model::Outcome outcome;
  outcome.case_id = "example-0";
  outcome.sequence = 1;
  outcome.site = site;
  outcome.stock_number = "EXAMPLE-1";
  outcome.decision.disposition = model::Disposition::kRefer;
  outcome.decision.reason = "findings_differ";
  outcome.decision.rule = 4;
  outcome.decision.evidence.finding = model::Evidence::Common::kMixed;
  outcome.decision.evidence.valid = outcome.decision.evidence.required = 2;
  outcome.reasons = {{"findings_differ", "An invented example: the readings differ."}};
  outcome.policy = {"example", "1", "sha256:" + std::string(64, '0')};
  outcome.decided_at = now;
  return outcome;
}

// The last outcome of the subject's last case.
base::Result<model::Outcome> last_outcome(OpenLedger& open, const std::string& stock_number) {
  const auto subject = open.ledger->find_subject(stock_number);
  if (!subject) return base::input_error("the ledger knows no stock number \"" + base::excerpt(stock_number) + "\"");
  auto cases = open.ledger->cases_of(*subject);
  if (!cases) return cases.error();
  const auto last = std::find_if(cases->rbegin(), cases->rend(), [](const ledger::CaseRow& row) { return row.sequence > 0; });
  if (last == cases->rend()) return base::input_error(stock_number + " has no outcome yet");
  return service::told_outcome(*open.ledger, *open.shelf, last->number, last->sequence, open.settings.site);
}

base::Result<model::Outcome> outcome_to_show(Screen& screen, const std::filesystem::path& config,
                                             const std::string& stock_number, const std::string& site, base::Instant now) {
  if (stock_number.empty()) {
    screen.err << "an invented outcome, of no stone; name a stock number to see its own\n";
    return invented_outcome(site, now);
  }
  auto open = open_ledger(config);
  if (!open) return open.error();
  return last_outcome(*open, stock_number);
}

}  // namespace

int preview_outlet(Screen& screen, const std::filesystem::path& config, const std::string& name,
                   const std::string& stock_number) {
  const base::Instant now = base::SystemClock().now();
  const service::Checked checked = service::check(config, now);
  const auto& outlets = checked.settings.outlets;
  const auto outlet = std::find_if(outlets.begin(), outlets.end(), [&](const auto& one) { return one.name == name; });
  if (outlet == outlets.end() || !outlet->whole) {
    for (const config::Problem& problem : checked.problems) screen.err << config::format(problem) << '\n';
    if (outlet == outlets.end()) screen.err << "girdled: the configuration has no outlet \"" << name << "\"\n";
    return 1;
  }
  auto outcome = outcome_to_show(screen, config, stock_number, checked.settings.site, now);
  if (!outcome) return fail(screen, outcome.error());
  const auto zone = base::Zone::find(checked.settings.timezone);
  config::Problems problems;
  const std::string file = checked.settings.file.string();
  const auto preview = delivery::preview_message(*outlet, *outcome, zone ? *zone : base::Zone::utc(), now,
                                                 config::Report(file, problems));
  for (const config::Problem& problem : problems) screen.err << config::format(problem) << '\n';
  if (!preview) return 1;
  if (!preview->unwritable.empty()) {
    screen.err << "girdled: it would be parked: " << preview->unwritable << '\n';
    return 1;
  }
  if (!preview->file.empty()) screen.err << "file " << (outlet->folder->path / preview->file).string() << '\n';
  screen.out << preview->bytes << std::flush;
  return 0;
}

}  // namespace girdle::cli
