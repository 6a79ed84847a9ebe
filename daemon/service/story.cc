#include "service/story.h"

#include <algorithm>
#include <tuple>

#include "base/json.h"
#include "base/time.h"
#include "casework/decide.h"
#include "casework/same.h"
#include "casework/weigh.h"

namespace girdle::service {
namespace {

using base::JsonWriter;
using base::Result;
using ledger::CaseRow;
using ledger::CaseState;
using ledger::Ledger;
using ledger::Number;

void tell_worth(std::vector<ToldReading>& readings, const std::optional<model::Declaration>& declared,
                const casework::House* house) {
  std::vector<model::Reading> joined;
  joined.reserve(readings.size());
  std::vector<casework::Measurement> measurements;
  std::vector<ToldReading*> owners;
  for (ToldReading& told : readings) {
    const ledger::StoredReading& r = told.stored;
    if (!r.live) {
      told.worth = "corrected by a newer record of the same run";
    } else if (r.pair != 0) {
      told.worth = "the same measurement by another route";
    } else if (house) {
      const auto second = std::ranges::find(readings, r.id, [](const ToldReading& t) { return t.stored.pair; });
      joined.push_back(second == readings.end() ? r.reading : casework::joined(r.reading, second->stored.reading));
      measurements.push_back({r.id, &joined.back(), &house->rules_of(r.reading.instrument)});
      owners.push_back(&told);
    }
  }
  if (!house) return;
  std::vector<casework::Weight> weights;
  (void)casework::weigh(measurements, declared ? &*declared : nullptr, *house, &weights);
  for (size_t i = 0; i < weights.size(); ++i) owners[i]->worth = text(weights[i]);
}

Result<std::vector<ToldReading>> readings_between(Ledger& ledger, Number subject, base::Instant from, base::Instant to) {
  auto stored = ledger.readings_of(subject, from, to);
  if (!stored) return stored.error();
  std::vector<ToldReading> readings;
  for (ledger::StoredReading& reading : *stored) {
    auto duplicates = ledger.receipts_of(Ledger::ReceiptKind::kReading, reading.id);
    if (!duplicates) return duplicates.error();
    readings.push_back({std::move(reading), {}, std::move(duplicates).value()});
  }
  return readings;
}

Result<std::vector<ToldDeclaration>> declarations_of(Ledger& ledger, Number subject) {
  auto stored = ledger.declarations_of(subject);
  if (!stored) return stored.error();
  std::vector<ToldDeclaration> declarations;
  for (ledger::StoredDeclaration& declaration : *stored) {
    auto arrival = ledger.arrival(declaration.document);
    if (!arrival) return arrival.error();
    auto duplicates = ledger.receipts_of(Ledger::ReceiptKind::kDeclaration, declaration.id);
    if (!duplicates) return duplicates.error();
    declarations.push_back({std::move(declaration), std::move(arrival).value(), false, std::move(duplicates).value()});
  }
  std::sort(declarations.begin(), declarations.end(), [](const ToldDeclaration& a, const ToldDeclaration& b) {
    return std::tuple(a.declared_at(), a.stored.id) < std::tuple(b.declared_at(), b.stored.id);
  });
  return declarations;
}

// What a case was decided on its outcome tells; without a case it is what was claimed last, for the first time or again.
void mark_newest(std::vector<ToldDeclaration>& declarations) {
  std::vector<casework::Claim> claims;
  std::vector<ToldDeclaration*> owners;
  for (ToldDeclaration& told : declarations) {
    claims.push_back(
        {told.declared_at(), told.stored.list, told.stored.declaration.place.offset, told.stored.content});
    owners.push_back(&told);
    for (const ledger::Receipt& again : told.duplicates) {
      claims.push_back({again.came_at, again.list, again.offset, told.stored.content});
      owners.push_back(&told);
    }
  }
  base::Instant last{};
  for (const casework::Claim& claim : claims) last = std::max(last, claim.time);
  if (const auto newest = casework::claim_in_force(claims, last, base::Millis(0))) owners[*newest]->in_force = true;
}

Result<std::vector<ToldDelivery>> deliveries_of(Ledger& ledger, Number case_number, const std::string& key) {
  std::vector<ToldDelivery> deliveries;
  ledger::Filter filter;
  filter.stock_number = key;
  filter.limit = 1000;
  auto listed = ledger.each_delivery(filter, [&](const ledger::DeliveryRow& row, const std::string& outlet, const std::string&) {
    if (row.case_number == case_number) deliveries.push_back({row, outlet});
  });
  if (!listed) return listed.error();
  std::sort(deliveries.begin(), deliveries.end(),
            [](const ToldDelivery& a, const ToldDelivery& b) { return a.row.sequence < b.row.sequence; });
  return deliveries;
}

Result<std::vector<model::Outcome>> outcomes_of(const StorySource& source, const CaseRow& row) {
  std::vector<model::Outcome> outcomes;
  for (int64_t sequence = 1; sequence <= row.sequence; ++sequence) {
    auto outcome = told_outcome(source.ledger, source.shelf, row.number, sequence, source.site);
    if (!outcome) return outcome.error();
    outcomes.push_back(std::move(outcome).value());
  }
  if (outcomes.empty()) return base::input_error("the case " + source.ledger.case_id(row.number) + " has no outcome yet");
  return outcomes;
}

// `story` knows its subject's key and declarations.
Result<Story> fill_case(const StorySource& source, const CaseRow& row, Story story) {
  Ledger& ledger = source.ledger;
  story.row = row;
  auto outcomes = outcomes_of(source, row);
  if (!outcomes) return outcomes.error();
  story.outcomes = std::move(outcomes).value();
  auto last = ledger.outcome(row.number, row.sequence);
  if (!last) return last.error();
  for (ToldDeclaration& told : story.declarations) told.in_force = *last && (*last)->declaration == told.stored.id;
  auto readings = readings_between(ledger, ledger::subject_of(row.number), row.first_at, row.last_at);
  if (!readings) return readings.error();
  story.readings = std::move(readings).value();
  tell_worth(story.readings, story.outcomes.back().declared, source.house);
  auto deliveries = deliveries_of(ledger, row.number, story.key);
  if (!deliveries) return deliveries.error();
  story.deliveries = std::move(deliveries).value();
  auto shadows = ledger.shadows_of(row.number);
  if (!shadows) return shadows.error();
  story.shadows = std::move(shadows).value();
  return story;
}

// Readings of a subject without a case are corrected ones: what counts is elsewhere.
Result<Story> tell_without_case(Ledger& ledger, Number subject, Story story) {
  mark_newest(story.declarations);
  auto readings = readings_between(ledger, subject, base::Instant::min(), base::Instant::max());
  if (!readings) return readings.error();
  story.readings = std::move(readings).value();
  tell_worth(story.readings, {}, nullptr);
  return story;
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

void write_readings(JsonWriter& json, const StorySource& source, const Story& story) {
  json.key("readings").begin_array();
  for (const ToldReading& told : story.readings) {
    json.begin_object().member("id", told.stored.id).key("reading");
    write_value(json, told.stored.reading);
    json.member("worth", std::string_view(told.worth));
    json.member("intake", std::string_view(source.ledger.intake_name(told.stored.intake)));
    json.member("document", std::string_view(source.ledger.document_name(told.stored.document)));
    json.member("came_at", std::string_view(base::format_rfc3339(told.stored.came_at)));
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
    json.begin_object().member("id", d.id).member("outlet", std::string_view(outlet)).member("sequence", d.sequence);
    json.member("state", model::text(d.state)).member("attempts", d.attempts).member("status", int64_t{d.status});
    json.member("note", std::string_view(d.note));
    json.member_or_null("due_at", d.due ? base::format_rfc3339(*d.due) : std::string());
    json.member("changed_at", std::string_view(base::format_rfc3339(d.changed_at))).end_object();
  }
  json.end_array();
}

void write_steps(JsonWriter& json, const StorySource& source, const Story& story) {
  json.key("would_change").begin_array();
  if (story.row) {
    for (const casework::WhatIf& step : steps_from(source, story)) {
      json.begin_object().member("step", std::string_view(step.step));
      json.member("disposition", model::text(step.disposition)).member("reason", std::string_view(step.reason));
      json.member("text", std::string_view(step.text())).end_object();
    }
  }
  json.end_array();
}

void write_shadows(JsonWriter& json, const StorySource& source, const Story& story) {
  json.key("shadow").begin_array();
  for (const ledger::ShadowRow& shadow : story.shadows) {
    const auto house = source.shelf.at(shadow.house);
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

}  // namespace

std::string last_answer(const ledger::DeliveryRow& row) {
  if (row.status == 0) return row.note;
  const std::string status = std::to_string(row.status);
  return row.note.empty() ? status : status + ' ' + row.note;
}

Result<std::vector<Story>> tell(const StorySource& source, const std::string& stock_number) {
  std::vector<Story> stories;
  Ledger& ledger = source.ledger;
  const auto subject = ledger.find_subject(stock_number);
  if (!subject) return stories;
  Story known;
  known.key = stock_number;
  auto declarations = declarations_of(ledger, *subject);
  if (!declarations) return declarations.error();
  known.declarations = std::move(declarations).value();
  auto rows = ledger.cases_of(*subject);
  if (!rows) return rows.error();
  std::sort(rows->begin(), rows->end(), [](const CaseRow& a, const CaseRow& b) { return a.last_at > b.last_at; });
  for (const CaseRow& row : *rows) {
    auto story = fill_case(source, row, known);
    if (!story) return story.error();
    stories.push_back(std::move(story).value());
  }
  if (!stories.empty()) return stories;
  auto story = tell_without_case(ledger, *subject, std::move(known));
  if (!story) return story.error();
  if (!story->declarations.empty() || !story->readings.empty()) stories.push_back(std::move(story).value());
  return stories;
}

Result<std::optional<Story>> tell_case(const StorySource& source, Number case_number) {
  auto rows = source.ledger.cases_of(ledger::subject_of(case_number));
  if (!rows) return rows.error();
  const auto row = std::ranges::find(*rows, case_number, &CaseRow::number);
  if (row == rows->end()) return std::optional<Story>();
  Story known;
  known.key = source.ledger.subject_key(ledger::subject_of(case_number));
  auto declarations = declarations_of(source.ledger, ledger::subject_of(case_number));
  if (!declarations) return declarations.error();
  known.declarations = std::move(declarations).value();
  auto story = fill_case(source, *row, std::move(known));
  if (!story) return story.error();
  return std::optional<Story>(std::move(story).value());
}

std::vector<casework::WhatIf> steps_from(const StorySource& source, const Story& story) {
  if (story.row->state != CaseState::kOpen) return {};
  const auto house = source.shelf.at(story.outcomes.back().house);
  if (!house) return {};
  return casework::what_would_change(story.outcomes.back().decision.evidence, **house);
}

void write_json(std::string& out, const StorySource& source, const Story& story) {
  JsonWriter json(out);
  json.begin_object().member_or_null("id", story.row ? source.ledger.case_id(story.row->number) : std::string());
  json.member("key", std::string_view(story.key)).key("outcome");
  if (story.row) {
    write_value(json, story.outcomes.back());
  } else {
    json.null();
  }
  json.member_or_null("state", story.row ? state_text(story.row->state) : "");
  json.member("stock_number", std::string_view(story.key));
  write_readings(json, source, story);
  write_declarations(json, story);
  json.key("outcomes").begin_array();
  for (const model::Outcome& outcome : story.outcomes) write_value(json, outcome);
  json.end_array();
  write_deliveries(json, story);
  write_steps(json, source, story);
  write_shadows(json, source, story);
  json.end_object();
}

}  // namespace girdle::service
