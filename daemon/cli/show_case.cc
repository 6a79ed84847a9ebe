// girdled case: what is known of a stock number, and why the answer is what it is.
#include <algorithm>
#include <ostream>
#include <span>
#include <utility>

#include "base/json.h"
#include "base/text.h"
#include "base/time.h"
#include "casework/what_if.h"
#include "cli/open_ledger.h"
#include "cli/story.h"
#include "cli/table_view.h"
#include "evidence/carat.h"

namespace girdle::cli {
namespace {

using base::JsonWriter;
using ledger::CaseState;

constexpr size_t kDuplicatesShown = 5;  // of a record, to a person: a list that is sent every day would fill the screen

// Where a record stands: "exports a.csv:3".
std::string place_text(const std::string& intake, const std::string& document, const model::Place& place) {
  return intake + " " + document + (place.line > 0 ? ":" + std::to_string(place.line) : "");
}

// All that is claimed: the identity, and the rest under the names that a mapping has for it. Carats as the trade states
// them; --json has them as they were given.
std::string claim_text(const model::Declaration& d) {
  std::string claim;
  const auto add = [&](std::string_view name, std::string_view value) {
    if (value.empty()) return;
    if (!claim.empty()) claim += ", ";
    claim.append(name).append(" ").append(value);
  };
  const auto add_number = [&](std::string_view name, const std::optional<base::Decimal>& number) {
    if (number) add(name, number->text());
  };
  if (d.identity) claim = model::text(*d.identity);
  if (d.carat) add("carat", evidence::stated_carat(*d.carat));
  add("color", d.color);
  add("shape", d.shape);
  if (d.subject_kind) add("subject_kind", model::text(*d.subject_kind));
  add_number("table_mm", d.table_mm);
  add_number("length_mm", d.length_mm);
  add_number("width_mm", d.width_mm);
  add_number("depth_mm", d.depth_mm);
  add("mount", d.mount);
  add_number("stones", d.stones);
  add_number("value", d.value);
  add("channel", d.channel);
  for (const auto& [name, value] : d.extra) add("extra." + name, value);
  return claim.empty() ? "nothing but the stock number" : claim;
}

// By the policy that decided.
std::vector<casework::WhatIf> steps_from(OpenLedger& open, const Story& story) {
  if (story.row->state != CaseState::kOpen) return {};
  const auto house = open.shelf->at(story.outcomes.back().house);
  if (!house) return {};
  return casework::what_would_change(story.outcomes.back().decision.evidence, **house);
}

// The heads of the entries of an outcome's reasons; the first entry is the head line's.
std::string_view label_of(std::string_view code) {
  constexpr std::pair<std::string_view, std::string_view> kLabels[] = {
      {"seen", "Seen"}, {"asked", "Asked"}, {"rule", "Because"}, {"probable", "Probable"}, {"carat", "Carat"},
      {"would_change", "Change"}};
  for (const auto& [name, label] : kLabels) {
    if (name == code) return label;
  }
  return "";
}

void print_line(Screen& screen, std::string_view label, std::string_view text) {
  screen.out << label << std::string(10 - label.size(), ' ') << text << '\n';
}

void print_reasons(Screen& screen, const std::vector<model::Reason>& reasons) {
  std::string_view last;
  for (size_t i = 1; i < reasons.size(); ++i) {
    const std::string_view label = label_of(reasons[i].code);
    print_line(screen, label == last ? "" : label, reasons[i].text);
    last = label;
  }
}

void print_disclosure(Screen& screen, const model::Evidence& evidence, const model::Disclosure& d) {
  const auto joined = [](std::span<const std::string_view> words) { return base::listed(words, "or"); };
  std::string text = "a stone that is " + std::string(model::text(evidence.finding)) + " may be called " + joined(d.allowed);
  if (!d.barred.empty()) text += ", not " + joined(d.barred);
  print_line(screen, "Words", text + " (" + std::string(d.title) + ")");
  print_line(screen, "", "A screening result does not make it one. " + std::string(d.caution));
}

void print_shadow(Screen& screen, OpenLedger& open, const ledger::ShadowRow& shadow) {
  const auto house = open.shelf->at(shadow.house);
  const std::string name = house ? (*house)->stamp.name + " version " + (*house)->stamp.version : "unknown";
  print_line(screen, "Shadow", "policy " + name + " would say " + std::string(model::text(shadow.disposition)) + " (" +
                                   shadow.reason + "); nobody is told of it");
}

void print_head(Screen& screen, OpenLedger& open, const Story& story) {
  screen.out << bold(screen, story.key);
  if (!story.row) {
    screen.out << (story.readings.empty() ? " is declared, and was not measured yet" : " has no reading that counts") << "\n\n";
    return;
  }
  const model::Outcome& outcome = story.outcomes.back();
  screen.out << "  " << bold(screen, model::text(outcome.decision.disposition)) << "  (" << outcome.decision.reason << ")\n";
  screen.out << outcome.reasons.front().text << "\n\n";
  screen.out << "Case      " << outcome.case_id;
  if (story.row->state == CaseState::kMerged) screen.out << ", merged into " << open.ledger->case_id(story.row->merged_into);
  if (story.row->state == CaseState::kEmpty) screen.out << ", without readings: they belong elsewhere now";
  screen.out << '\n';
  print_reasons(screen, outcome.reasons);
  if (outcome.disclosure) print_disclosure(screen, outcome.decision.evidence, *outcome.disclosure);
  if (!story.shadows.empty() && story.shadows.back().sequence == outcome.sequence) {
    print_shadow(screen, open, story.shadows.back());
  }
  screen.out << '\n';
}

// The newest of a record's duplicates; receipts are in the order of time.
std::span<const ledger::Receipt> shown(const std::vector<ledger::Receipt>& duplicates) {
  return std::span(duplicates).last(std::min(duplicates.size(), kDuplicatesShown));
}

std::string older_text(const std::vector<ledger::Receipt>& duplicates) {
  return std::to_string(duplicates.size() - kDuplicatesShown) + " older duplicates; --json has them all";
}

TableView readings_table(OpenLedger& open, const Story& story) {
  TableView table({"MEASURED", "INSTRUMENT", "RUN", "FINDING", "FROM", "WORTH"});
  for (const ToldReading& told : story.readings) {
    const model::Reading& r = told.stored.reading;
    table.add({local_time(r.measured_at, open.settings.timezone), r.instrument, r.run, std::string(model::text(r.finding)),
               place_text(open.ledger->intake_name(told.stored.intake), open.ledger->document_name(told.stored.document),
                          r.place),
               told.worth});
    if (told.duplicates.size() > kDuplicatesShown) table.add({"", "", "", "", "", older_text(told.duplicates)});
    for (const ledger::Receipt& receipt : shown(told.duplicates)) {
      table.add({"", "", "", "", receipt.intake + " " + receipt.name, "duplicate of the reading above: no further evidence"});
    }
  }
  return table;
}

// What is claimed comes last: it can be long.
TableView declarations_table(OpenLedger& open, const Story& story) {
  TableView table({"DECLARED", "FROM", "WORTH", "CLAIM"});
  const std::string& zone = open.settings.timezone;
  for (const ToldDeclaration& told : story.declarations) {
    const model::Declaration& d = told.stored.declaration;
    table.add({local_time(told.declared_at(), zone), place_text(told.arrival.intake, told.arrival.name, d.place),
               told.in_force ? "in force" : "not in force", claim_text(d)});
    if (told.duplicates.size() > kDuplicatesShown) table.add({"", "", "", older_text(told.duplicates)});
    for (const ledger::Receipt& receipt : shown(told.duplicates)) {
      table.add({local_time(receipt.came_at, zone), receipt.intake + " " + receipt.name, "duplicate",
                 "the same as above"});
    }
  }
  return table;
}

TableView outcomes_table(OpenLedger& open, const Story& story) {
  TableView table({"NO", "DECIDED", "DISPOSITION", "FINDING", "REASON"});
  for (const model::Outcome& o : story.outcomes) {
    table.add({std::to_string(o.sequence), local_time(o.decided_at, open.settings.timezone),
               std::string(model::text(o.decision.disposition)), std::string(model::text(o.decision.evidence.finding)),
               o.decision.reason});
  }
  return table;
}

TableView deliveries_table(OpenLedger& open, const Story& story) {
  TableView table({"NO", "OUTLET", "STATE", "TRIES", "WHEN", "LAST ANSWER"});
  for (const auto& [d, outlet] : story.deliveries) {
    table.add({std::to_string(d.sequence), outlet, std::string(model::text(d.state)), std::to_string(d.attempts),
               local_time(d.changed_at, open.settings.timezone), last_answer(d)});
  }
  return table;
}

void print(Screen& screen, OpenLedger& open, const Story& story) {
  print_head(screen, open, story);
  for (const TableView& table : {readings_table(open, story), declarations_table(open, story), outcomes_table(open, story),
                                 deliveries_table(open, story)}) {
    if (table.empty()) continue;
    table.print(screen);
    screen.out << '\n';
  }
  screen.out << dim(screen, model::kNotice) << '\n';
}

// Any value of model/ as the value of the member that was begun.
template <class Value>
void write_value(JsonWriter& json, const Value& value) {
  std::string text;
  model::write_json(text, value);
  json.raw(text);
}

void write_duplicates(JsonWriter& json, const std::vector<ledger::Receipt>& duplicates) {
  json.key("duplicates").begin_array();
  for (const ledger::Receipt& receipt : duplicates) {
    json.begin_object().member("intake", std::string_view(receipt.intake)).member("document", std::string_view(receipt.name));
    json.member("came_at", std::string_view(base::format_rfc3339(receipt.came_at))).end_object();
  }
  json.end_array();
}

void write_readings(JsonWriter& json, OpenLedger& open, const Story& story) {
  json.key("readings").begin_array();
  for (const ToldReading& told : story.readings) {
    json.begin_object().key("reading");
    write_value(json, told.stored.reading);
    json.member("worth", std::string_view(told.worth));
    json.member("intake", std::string_view(open.ledger->intake_name(told.stored.intake)));
    json.member("document", std::string_view(open.ledger->document_name(told.stored.document)));
    write_duplicates(json, told.duplicates);
    json.end_object();
  }
  json.end_array();
}

void write_declarations(JsonWriter& json, const Story& story) {
  json.key("declarations").begin_array();
  for (const ToldDeclaration& told : story.declarations) {
    json.begin_object().key("declaration");
    write_value(json, told.stored.declaration);
    json.member("in_force", told.in_force);
    json.member("intake", std::string_view(told.arrival.intake)).member("document", std::string_view(told.arrival.name));
    json.member("came_at", std::string_view(base::format_rfc3339(told.arrival.came_at)));
    write_duplicates(json, told.duplicates);
    json.end_object();
  }
  json.end_array();
}

void write_deliveries(JsonWriter& json, const Story& story) {
  json.key("deliveries").begin_array();
  for (const auto& [d, outlet] : story.deliveries) {
    json.begin_object().member("outlet", std::string_view(outlet)).member("sequence", d.sequence);
    json.member("state", model::text(d.state)).member("attempts", d.attempts).member("status", int64_t{d.status});
    json.member("note", std::string_view(d.note)).end_object();
  }
  json.end_array();
}

void write_steps(JsonWriter& json, OpenLedger& open, const Story& story) {
  json.key("would_change").begin_array();
  if (story.row) {
    for (const casework::WhatIf& step : steps_from(open, story)) {
      json.begin_object().member("step", std::string_view(step.step));
      json.member("disposition", model::text(step.disposition)).member("reason", std::string_view(step.reason));
      json.member("text", std::string_view(step.text())).end_object();
    }
  }
  json.end_array();
}

void write_shadows(JsonWriter& json, OpenLedger& open, const Story& story) {
  json.key("shadow").begin_array();
  for (const ledger::ShadowRow& shadow : story.shadows) {
    const auto house = open.shelf->at(shadow.house);
    json.begin_object().member("sequence", shadow.sequence);
    json.member_or_null("digest", house ? std::string_view((*house)->stamp.digest) : std::string_view());
    json.member("disposition", model::text(shadow.disposition)).member("reason", std::string_view(shadow.reason));
    json.member("rule", int64_t{shadow.rule}).end_object();
  }
  json.end_array();
}

std::string_view state_text(CaseState state) {
  switch (state) {
    case CaseState::kOpen: return "open";
    case CaseState::kMerged: return "merged";
    case CaseState::kEmpty: return "empty";
  }
  return {};
}

// Without a case its outcome and its state are null.
void print_json(Screen& screen, OpenLedger& open, const Story& story) {
  std::string out;
  JsonWriter json(out);
  json.begin_object().key("outcome");
  if (story.row) {
    write_value(json, story.outcomes.back());
  } else {
    json.null();
  }
  json.member_or_null("state", story.row ? state_text(story.row->state) : "");
  json.member("stock_number", std::string_view(story.key));
  write_readings(json, open, story);
  write_declarations(json, story);
  json.key("outcomes").begin_array();
  for (const model::Outcome& outcome : story.outcomes) write_value(json, outcome);
  json.end_array();
  write_deliveries(json, story);
  write_steps(json, open, story);
  write_shadows(json, open, story);
  json.end_object();
  screen.out << out << '\n';
}

}  // namespace

int show_case(Screen& screen, const std::filesystem::path& config, const std::string& stock_number, bool json) {
  auto open = open_ledger(config);
  if (!open) return fail(screen, open.error());
  const auto stories = tell(*open, stock_number);
  if (!stories) return fail(screen, stories.error());
  if (stories->empty()) {
    return fail(screen, base::input_error(stock_number + " is not known here; `girdled cases` lists what is"));
  }
  for (const Story& story : *stories) {
    if (json) {
      print_json(screen, *open, story);
    } else {
      if (&story != &stories->front()) screen.out << '\n';
      print(screen, *open, story);
    }
  }
  return 0;
}

}  // namespace girdle::cli
