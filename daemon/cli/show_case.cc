// girdled case: what is known of a stock number, and why the answer is what it is.
#include <algorithm>
#include <ostream>

#include "base/json.h"
#include "base/time.h"
#include "casework/decide.h"
#include "casework/same.h"
#include "casework/weigh.h"
#include "cli/open_ledger.h"
#include "cli/table_view.h"

namespace girdle::cli {
namespace {

using base::Instant;
using base::JsonWriter;
using ledger::CaseRow;
using ledger::Ledger;
using ledger::StoredReading;

// One case with everything that is told of it.
struct Story {
  CaseRow row;
  model::Outcome outcome;
  std::vector<model::Outcome> outcomes;
  std::vector<StoredReading> readings;          // live, superseded, second routes
  std::vector<std::string> worth;               // of each, in words
  std::vector<std::vector<ledger::Receipt>> receipts;  // of each
  std::vector<std::pair<ledger::DeliveryRow, std::string>> deliveries;  // with the outlet
};

std::vector<std::string> worth_of(const std::vector<StoredReading>& readings, const std::optional<model::Declaration>& declared,
                                  const casework::House* house) {
  std::vector<std::string> words(readings.size());
  std::vector<casework::Measurement> measurements;
  std::vector<size_t> owner;
  for (size_t i = 0; i < readings.size(); ++i) {
    const StoredReading& r = readings[i];
    if (!r.live) {
      words[i] = "corrected by a newer record of the same run";
    } else if (r.pair != 0) {
      words[i] = "the same measurement by another route";
    } else if (house) {
      measurements.push_back({r.id, &r.reading, &house->rules_of(r.reading.instrument)});
      owner.push_back(i);
    }
  }
  if (!house) return words;
  std::vector<casework::Weight> weights;
  (void)casework::weigh(measurements, declared ? &*declared : nullptr, *house, &weights);
  for (size_t i = 0; i < weights.size(); ++i) words[owner[i]] = text(weights[i]);
  return words;
}

base::Result<Story> tell(OpenLedger& open, const CaseRow& row) {
  Ledger& ledger = *open.ledger;
  Story story;
  story.row = row;
  for (int64_t sequence = 1; sequence <= row.sequence; ++sequence) {
    auto outcome = ledger.full_outcome(row.number, sequence, open.settings.site);
    if (!outcome) return outcome.error();
    model::Decision& decision = outcome->decision;
    if (open.house) decision.reason_text = casework::reason_text(decision.reason, decision.evidence, *open.house);
    story.outcomes.push_back(std::move(outcome).value());
  }
  if (story.outcomes.empty()) return base::input_error("the case " + ledger.case_id(row.number) + " has no outcome yet");
  story.outcome = story.outcomes.back();
  auto readings = ledger.readings_of(ledger::subject_of(row.number), row.first_at, row.last_at);
  if (!readings) return readings.error();
  story.readings = std::move(readings).value();
  story.worth = worth_of(story.readings, story.outcome.declared, open.house.get());
  for (const StoredReading& reading : story.readings) {
    auto receipts = ledger.receipts_of(Ledger::ReceiptKind::kReading, reading.id);
    if (!receipts) return receipts.error();
    story.receipts.push_back(std::move(receipts).value());
  }
  ledger::Filter filter;
  filter.stock_number = model::subject_key(story.outcome.stock_number, story.outcome.position);
  filter.limit = 1000;
  auto listed = ledger.each_delivery(filter, [&](const ledger::DeliveryRow& delivery, const std::string& outlet, const std::string&) {
    if (delivery.case_number == row.number) story.deliveries.emplace_back(delivery, outlet);
  });
  if (!listed) return listed.error();
  std::sort(story.deliveries.begin(), story.deliveries.end(),
            [](const auto& a, const auto& b) { return a.first.sequence < b.first.sequence; });
  return story;
}

std::string rule_text(const Story& story, const casework::House* house) {
  const int rule = story.outcome.decision.rule;
  if (rule == 0) return "no rule of the policy";
  std::string text = "rule " + std::to_string(rule) + " of policy " + story.outcome.policy.name + " version " +
                     story.outcome.policy.version;
  if (house && !house->table.note(rule).empty()) text += ": " + std::string(house->table.note(rule));
  return text;
}

void print(Screen& screen, OpenLedger& open, const Story& story) {
  const model::Outcome& outcome = story.outcome;
  const model::Evidence& e = outcome.decision.evidence;
  const std::string& zone = open.settings.timezone;
  screen.out << bold(screen, model::subject_key(outcome.stock_number, outcome.position)) << "  "
             << bold(screen, model::text(outcome.decision.disposition)) << "  (" << outcome.decision.reason << ")\n";
  screen.out << outcome.decision.reason_text << "\n\n";
  screen.out << "Case      " << outcome.case_id;
  if (story.row.state == ledger::CaseState::kMerged) screen.out << ", merged into " << open.ledger->case_id(story.row.merged_into);
  if (story.row.state == ledger::CaseState::kEmpty) screen.out << ", without readings: they belong elsewhere now";
  screen.out << "\nBecause   " << rule_text(story, open.house.get()) << "\n";
  screen.out << "Evidence  finding " << model::text(e.finding) << "; " << e.valid << " of " << e.required << " valid runs, "
             << e.voids << " void, " << e.discounted << " discounted; scope " << model::text(e.scope) << "; declared "
             << (e.declared ? model::text(*e.declared) : "nothing") << "\n\n";
  TableView readings({"MEASURED", "INSTRUMENT", "RUN", "FINDING", "FROM", "WORTH"});
  for (size_t i = 0; i < story.readings.size(); ++i) {
    const model::Reading& r = story.readings[i].reading;
    readings.add({local_time(r.measured_at, zone), r.instrument, r.run, std::string(model::text(r.finding)),
                  open.ledger->intake_name(story.readings[i].intake) + " " + open.ledger->document_name(story.readings[i].document) +
                      (r.place.line > 0 ? ":" + std::to_string(r.place.line) : ""),
                  story.worth[i]});
    for (const ledger::Receipt& receipt : story.receipts[i]) {
      readings.add({"", "", "", "", receipt.intake + " " + receipt.name, "duplicate of the reading above: no further evidence"});
    }
  }
  if (!readings.empty()) {
    readings.print(screen);
    screen.out << '\n';
  }
  TableView outcomes({"NO", "DECIDED", "DISPOSITION", "FINDING", "REASON"});
  for (const model::Outcome& o : story.outcomes) {
    outcomes.add({std::to_string(o.sequence), local_time(o.decided_at, zone), std::string(model::text(o.decision.disposition)),
                  std::string(model::text(o.decision.evidence.finding)), o.decision.reason});
  }
  outcomes.print(screen);
  if (!story.deliveries.empty()) {
    screen.out << '\n';
    TableView deliveries({"NO", "OUTLET", "STATE", "TRIES", "WHEN", "LAST ANSWER"});
    for (const auto& [d, outlet] : story.deliveries) {
      deliveries.add({std::to_string(d.sequence), outlet, std::string(model::text(d.state)), std::to_string(d.attempts),
                      local_time(d.changed_at, zone), d.status == 0 ? d.note : std::to_string(d.status) + " " + d.note});
    }
    deliveries.print(screen);
  }
  screen.out << '\n' << dim(screen, model::kNotice) << '\n';
}

void print_json(Screen& screen, OpenLedger& open, const Story& story) {
  std::string out;
  JsonWriter json(out);
  json.begin_object();
  std::string inner;
  model::write_json(inner, story.outcome);
  json.key("outcome").raw(inner);
  json.member("state", story.row.state == ledger::CaseState::kOpen     ? "open"
                       : story.row.state == ledger::CaseState::kMerged ? "merged"
                                                                       : "empty");
  json.key("readings").begin_array();
  for (size_t i = 0; i < story.readings.size(); ++i) {
    json.begin_object();
    inner.clear();
    model::write_json(inner, story.readings[i].reading);
    json.key("reading").raw(inner);
    json.member("worth", std::string_view(story.worth[i]));
    json.member("intake", std::string_view(open.ledger->intake_name(story.readings[i].intake)));
    json.member("document", std::string_view(open.ledger->document_name(story.readings[i].document)));
    json.key("duplicates").begin_array();
    for (const ledger::Receipt& receipt : story.receipts[i]) {
      json.begin_object().member("intake", std::string_view(receipt.intake)).member("document", std::string_view(receipt.name));
      json.member("came_at", std::string_view(base::format_rfc3339(receipt.came_at))).end_object();
    }
    json.end_array().end_object();
  }
  json.end_array().key("outcomes").begin_array();
  for (const model::Outcome& o : story.outcomes) {
    inner.clear();
    model::write_json(inner, o);
    json.raw(inner);
  }
  json.end_array().key("deliveries").begin_array();
  for (const auto& [d, outlet] : story.deliveries) {
    json.begin_object().member("outlet", std::string_view(outlet)).member("sequence", d.sequence);
    json.member("state", model::text(d.state)).member("attempts", d.attempts).member("status", int64_t{d.status});
    json.member("note", std::string_view(d.note)).end_object();
  }
  json.end_array().end_object();
  screen.out << out << '\n';
}

}  // namespace

int show_case(Screen& screen, const std::filesystem::path& config, const std::string& stock_number, bool json) {
  auto open = open_ledger(config);
  if (!open) return fail(screen, open.error());
  const auto subject = open->ledger->find_subject(stock_number);
  std::vector<CaseRow> rows;
  if (subject) {
    auto found = open->ledger->cases_of(*subject);
    if (!found) return fail(screen, found.error());
    rows = std::move(found).value();
  }
  if (rows.empty()) {
    const std::string why = subject ? " is declared, and was not measured yet" : " is not known here";
    return fail(screen, base::input_error(stock_number + why + "; `girdled cases` lists what is"));
  }
  std::sort(rows.begin(), rows.end(), [](const CaseRow& a, const CaseRow& b) { return a.last_at > b.last_at; });
  for (size_t i = 0; i < rows.size(); ++i) {
    auto story = tell(*open, rows[i]);
    if (!story) return fail(screen, story.error());
    if (json) {
      print_json(screen, *open, *story);
    } else {
      if (i > 0) screen.out << '\n';
      print(screen, *open, *story);
    }
  }
  return 0;
}

}  // namespace girdle::cli
