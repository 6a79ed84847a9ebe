#include "cli/story.h"

#include <algorithm>
#include <tuple>

#include "casework/decide.h"
#include "casework/same.h"
#include "casework/weigh.h"

namespace girdle::cli {
namespace {

using base::Result;
using ledger::CaseRow;
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

Result<std::vector<model::Outcome>> outcomes_of(OpenLedger& open, const CaseRow& row) {
  std::vector<model::Outcome> outcomes;
  for (int64_t sequence = 1; sequence <= row.sequence; ++sequence) {
    auto outcome = service::told_outcome(*open.ledger, *open.shelf, row.number, sequence, open.settings.site);
    if (!outcome) return outcome.error();
    outcomes.push_back(std::move(outcome).value());
  }
  if (outcomes.empty()) return base::input_error("the case " + open.ledger->case_id(row.number) + " has no outcome yet");
  return outcomes;
}

// `story` knows its subject's key and declarations.
Result<Story> tell_case(OpenLedger& open, const CaseRow& row, Story story) {
  Ledger& ledger = *open.ledger;
  story.row = row;
  auto outcomes = outcomes_of(open, row);
  if (!outcomes) return outcomes.error();
  story.outcomes = std::move(outcomes).value();
  auto last = ledger.outcome(row.number, row.sequence);
  if (!last) return last.error();
  for (ToldDeclaration& told : story.declarations) told.in_force = *last && (*last)->declaration == told.stored.id;
  auto readings = readings_between(ledger, ledger::subject_of(row.number), row.first_at, row.last_at);
  if (!readings) return readings.error();
  story.readings = std::move(readings).value();
  tell_worth(story.readings, story.outcomes.back().declared, open.house.get());
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

}  // namespace

std::string last_answer(const ledger::DeliveryRow& row) {
  if (row.status == 0) return row.note;
  const std::string status = std::to_string(row.status);
  return row.note.empty() ? status : status + ' ' + row.note;
}

Result<std::vector<Story>> tell(OpenLedger& open, const std::string& stock_number) {
  std::vector<Story> stories;
  Ledger& ledger = *open.ledger;
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
    auto story = tell_case(open, row, known);
    if (!story) return story.error();
    stories.push_back(std::move(story).value());
  }
  if (!stories.empty()) return stories;
  auto story = tell_without_case(ledger, *subject, std::move(known));
  if (!story) return story.error();
  if (!story->declarations.empty() || !story->readings.empty()) stories.push_back(std::move(story).value());
  return stories;
}

}  // namespace girdle::cli
