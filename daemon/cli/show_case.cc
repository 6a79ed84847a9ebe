// girdled case: what is known of a stock number, and why the answer is what it is.
#include <algorithm>
#include <ostream>
#include <span>
#include <utility>

#include "base/text.h"
#include "base/time.h"
#include "casework/what_if.h"
#include "cli/open_ledger.h"
#include "cli/table_view.h"
#include "evidence/carat.h"
#include "service/story.h"

namespace girdle::cli {
namespace {

using service::Story;
using service::ToldDeclaration;
using service::ToldReading;
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

// Who said whose reading it is, where the record does not; empty where nobody did.
std::string binding_text(OpenLedger& open, const ledger::StoredReading& stored) {
  if (!stored.reading.stock_number.empty()) return {};
  const auto binding = open.ledger->binding_of(stored.id);
  if (!binding || !*binding) return {};
  return "bound by hand by " + (*binding)->by.who + ": " + (*binding)->by.why;
}

TableView readings_table(OpenLedger& open, const Story& story) {
  TableView table({"MEASURED", "INSTRUMENT", "RUN", "FINDING", "FROM", "WORTH"});
  for (const ToldReading& told : story.readings) {
    const model::Reading& r = told.stored.reading;
    table.add({local_time(r.measured_at, open.settings.timezone), r.instrument, r.run, std::string(model::text(r.finding)),
               place_text(open.ledger->intake_name(told.stored.intake), open.ledger->document_name(told.stored.document),
                          r.place),
               told.worth});
    if (const std::string said = binding_text(open, told.stored); !said.empty()) table.add({"", "", "", "", "", said});
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
               o.by_hand ? o.decision.reason + ": " + o.by_hand->who + ", " + o.by_hand->why : o.decision.reason});
  }
  return table;
}

TableView deliveries_table(OpenLedger& open, const Story& story) {
  TableView table({"NO", "OUTLET", "STATE", "TRIES", "WHEN", "LAST ANSWER"});
  for (const auto& [d, outlet] : story.deliveries) {
    table.add({std::to_string(d.sequence), outlet, std::string(model::text(d.state)), std::to_string(d.attempts),
               local_time(d.changed_at, open.settings.timezone), service::last_answer(d)});
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

}  // namespace

int show_case(Screen& screen, const std::filesystem::path& config, const std::string& stock_number, bool json) {
  auto open = open_ledger(config);
  if (!open) return fail(screen, open.error());
  const service::StorySource source = open->story_source();
  const auto stories = service::tell(source, stock_number);
  if (!stories) return fail(screen, stories.error());
  if (stories->empty()) {
    return fail(screen, base::input_error(stock_number + " is not known here; `girdled cases` lists what is"));
  }
  for (const Story& story : *stories) {
    if (json) {
      std::string out;
      service::write_json(out, source, story);
      screen.out << out << '\n';
    } else {
      if (&story != &stories->front()) screen.out << '\n';
      print(screen, *open, story);
    }
  }
  return 0;
}

}  // namespace girdle::cli
