// The second half: what the touched subjects' cases are now, and what is to be told.
#include <algorithm>

#include "casework/decide.h"
#include "casework/same.h"
#include "service/recorder.h"

namespace girdle::service {

using base::Instant;
using base::Result;
using casework::Measurement;
using ledger::CaseRow;
using ledger::CaseState;
using ledger::Ledger;
using ledger::Number;
using ledger::OutcomeRow;
using ledger::StoredDeclaration;
using ledger::StoredReading;

namespace {

Instant shifted(Instant at, base::Millis by) {
  if (by.count() > 0 && at > Instant::max() - by) return Instant::max();
  if (by.count() < 0 && at < Instant::min() - by) return Instant::min();
  return at + by;
}

bool overlaps(const CaseRow& row, Instant from, Instant to) { return row.first_at <= to && row.last_at >= from; }

bool same_answer(const OutcomeRow& a, const OutcomeRow& b) {
  return a.decision.disposition == b.decision.disposition && a.decision.reason == b.decision.reason &&
         a.decision.rule == b.decision.rule && a.decision.evidence == b.decision.evidence && a.kind == b.kind &&
         a.declaration == b.declaration && a.merged_into == b.merged_into;
}

}  // namespace

Result<void> Recorder::settle(std::vector<model::Delivery>& fresh, size_t limit) {
  fresh_ = &fresh;
  fresh_limit_ = limit;
  for (const auto kind : {Ledger::ReceiptKind::kReading, Ledger::ReceiptKind::kDeclaration}) {
    if (auto done = flush_receipts(kind); !done) return done;
  }
  if (auto done = settle_windows(); !done) return done;
  auto done = settle_touched();
  touched_.clear();
  return done;
}

Result<void> Recorder::settle_touched() {
  // Numbers in order: new rows are appended, old ones are visited as they lie.
  std::vector<Number> subjects;
  subjects.reserve(touched_.size());
  for (const auto& [subject, touched] : touched_) {
    if (touched.any || touched.declared) subjects.push_back(subject);
  }
  std::sort(subjects.begin(), subjects.end());
  for (const Number subject : subjects) {
    if (auto done = settle_subject(subject, touched_[subject]); !done) return done;
  }
  return {};
}

// Two routes and scans: readings of an instrument that lie close enough together decide together, so each window grows
// until nothing more is within reach.
Result<void> Recorder::settle_windows() {
  std::sort(windows_.begin(), windows_.end(), [](const Window& a, const Window& b) {
    return a.instrument != b.instrument ? a.instrument < b.instrument : a.from < b.from;
  });
  std::optional<Window> done_window;
  for (Window window : windows_) {
    const std::string serial = ledger_.instrument_serial(window.instrument);
    const casework::InstrumentRules& rules = house_->rules_of(serial);
    if (done_window && done_window->instrument == window.instrument && window.to <= done_window->to) continue;
    std::vector<StoredReading> readings;
    for (;;) {
      const Instant from = shifted(window.from, -rules.cycle);
      const Instant to = shifted(window.to, rules.cycle);
      auto found = ledger_.near_readings(window.instrument, from, to);
      if (!found) return found.error();
      readings = std::move(found).value();
      Window grown = window;
      for (const StoredReading& r : readings) {
        grown.from = std::min(grown.from, r.reading.measured_at);
        grown.to = std::max(grown.to, r.reading.measured_at);
      }
      if (grown.from == window.from && grown.to == window.to) break;
      window = grown;
    }
    done_window = window;
    if (auto done = settle_component(std::move(readings), rules); !done) return done;
  }
  windows_.clear();
  return {};
}

Result<void> Recorder::settle_component(std::vector<StoredReading> readings, const casework::InstrumentRules& rules) {
  std::erase_if(readings, [](const StoredReading& r) { return !r.live; });
  if (has_bindings_) {
    if (auto done = give_hand_bindings(readings); !done) return done;
  }
  std::vector<casework::Known> known;
  for (const StoredReading& r : readings) {
    auto intakes = intakes_of(r);
    if (!intakes) return intakes.error();
    known.push_back({r.id, std::move(intakes).value(), r.came_at, r.came_offset, r.content, r.reading});
  }
  std::vector<Number> pair(readings.size(), 0);
  std::vector<std::optional<size_t>> partner(readings.size());
  if (rules.cycle.count() > 0) {
    for (const casework::Pair& p : casework::pair_routes(known, rules.cycle)) {
      pair[p.second] = readings[p.first].id;
      partner[p.first] = p.second;
      partner[p.second] = p.first;
    }
  }
  for (size_t i = 0; i < readings.size(); ++i) {
    const size_t other = partner[i].value_or(i);
    // The first of a pair comes first in time; both belong to what either says.
    const model::Reading& first = pair[i] != 0 ? readings[other].reading : readings[i].reading;
    const model::Reading& second = pair[i] != 0 ? readings[i].reading : readings[other].reading;
    auto subject = bound_subject(other == i ? first : casework::joined(first, second), rules);
    if (!subject) return subject.error();
    if (auto done = relink(readings[i], *subject, pair[i]); !done) return done;
  }
  return {};
}

// What a person said of a record that gives no stock number counts as if the record had given it: for routes, and before
// any scan.
Result<void> Recorder::give_hand_bindings(std::vector<StoredReading>& readings) {
  for (StoredReading& r : readings) {
    if (!r.reading.stock_number.empty()) continue;
    auto binding = ledger_.binding_of(r.id);
    if (!binding) return binding.error();
    if (!*binding) continue;
    r.reading.stock_number = (*binding)->stock_number;
    if (!(*binding)->position.empty()) r.reading.position = (*binding)->position;
  }
  return {};
}

Result<std::vector<Number>> Recorder::intakes_of(const StoredReading& reading) {
  if (reading.id >= receipts_end_) return std::vector<Number>{reading.intake};
  auto intakes = ledger_.duplicate_intakes(reading.id);
  if (!intakes) return intakes;
  const auto at = std::ranges::lower_bound(*intakes, reading.intake);
  if (at == intakes->end() || *at != reading.intake) intakes->insert(at, reading.intake);
  return intakes;
}

Result<Number> Recorder::bound_subject(const model::Reading& reading, const casework::InstrumentRules& rules) {
  if (!reading.stock_number.empty()) {
    return subject_number(model::subject_key(reading.stock_number, reading.position));
  }
  if (rules.bench.empty()) return Number{0};
  auto scans = ledger_.scans(rules.bench, shifted(reading.measured_at, -house_->scan_fresh), reading.measured_at);
  if (!scans) return scans.error();
  const auto scan = casework::binding_scan(*scans, reading.measured_at, house_->scan_fresh);
  if (!scan) return Number{0};
  const std::string& position = (*scans)[*scan].position.empty() ? reading.position : (*scans)[*scan].position;
  return subject_number(model::subject_key((*scans)[*scan].stock_number, position));
}

Result<void> Recorder::relink(const StoredReading& before, Number subject, Number pair) {
  if (before.subject == subject && before.pair == pair) return {};
  if (auto done = ledger_.set_reading_links(before.id, subject, before.live, pair); !done) return done;
  for (const Number changed : {before.subject, subject}) {
    if (changed == 0) continue;
    Touched& touched = touched_[changed];
    touched.touch(before.reading.measured_at);
    touched.fresh = false;
    touched.added.clear();
  }
  return {};
}

Result<void> Recorder::settle_subject(Number subject, Touched& touched) {
  std::vector<StoredDeclaration> claims;
  if (!touched.fresh || touched.declared) {
    auto found = ledger_.declarations_of(subject);
    if (!found) return found.error();
    claims = std::move(found).value();
  }
  std::vector<CaseRow> cases;
  if (!touched.fresh) {
    auto found = ledger_.cases_of(subject);
    if (!found) return found.error();
    cases = std::move(found).value();
  }
  const auto next_number = ledger::first_case_of(subject) + static_cast<Number>(cases.size());

  // The stretch of time to look at: what was touched, and every case within reach of it.
  Instant from = touched.from, to = touched.to;
  if (touched.declared) {
    for (const CaseRow& row : cases) {
      if (row.state != CaseState::kOpen) continue;
      touched.touch(row.first_at);
      touched.touch(row.last_at);
    }
    from = touched.from;
    to = touched.to;
  }
  if (!touched.any) return {};  // declared, and not measured yet
  std::vector<CaseRow> reached;
  for (const CaseRow& row : cases) {
    if (row.state == CaseState::kMerged) continue;
    if (!overlaps(row, shifted(touched.from, -house_->reopen_after), shifted(touched.to, house_->reopen_after))) continue;
    reached.push_back(row);
    from = std::min(from, row.first_at);
    to = std::max(to, row.last_at);
  }

  // The measurements there, each once.
  Measured measured;
  std::vector<Measurement>& measurements = measured.list;
  if (touched.fresh) {
    for (const Fresh& fresh : touched.added) {
      measurements.push_back({fresh.id, fresh.reading, &house_->rules_of(fresh.reading->instrument)});
    }
    std::sort(measurements.begin(), measurements.end(), [](const Measurement& a, const Measurement& b) {
      return a.reading->measured_at < b.reading->measured_at;
    });
  } else {
    if (auto done = measure(subject, from, to, measured); !done) return done;
  }
  std::vector<Instant> times;
  times.reserve(measurements.size());
  for (const Measurement& m : measurements) times.push_back(m.reading->measured_at);
  const std::vector<size_t> starts = casework::case_starts(times, house_->reopen_after);

  std::vector<bool> claimed(reached.size());
  Number next = next_number;
  Part part;
  for (size_t p = 0; p < starts.size(); ++p) {
    const size_t end = p + 1 < starts.size() ? starts[p + 1] : measurements.size();
    part.measurements.assign(measurements.begin() + static_cast<ptrdiff_t>(starts[p]),
                             measurements.begin() + static_cast<ptrdiff_t>(end));
    part.from = times[starts[p]];
    part.to = times[end - 1];
    std::optional<size_t> survivor;
    std::vector<size_t> ended;
    for (size_t c = 0; c < reached.size(); ++c) {
      if (claimed[c] || !overlaps(reached[c], part.from, part.to)) continue;
      claimed[c] = true;
      if (!survivor) {
        survivor = c;
      } else {
        ended.push_back(c);
      }
    }
    CaseRow row;
    if (survivor) {
      row = reached[*survivor];
    } else {
      row.number = next++;
    }
    row.state = CaseState::kOpen;
    if (auto done = decide_case(row, !survivor, part, claims, 0); !done) return done;
    for (const size_t c : ended) {
      CaseRow merged = reached[c];
      merged.state = CaseState::kMerged;
      merged.merged_into = row.number;
      if (auto done = decide_case(merged, false, part, claims, row.number); !done) return done;
    }
  }
  // A case that lost its last reading to a correction or another subject: whoever heard of it hears that.
  for (size_t c = 0; c < reached.size(); ++c) {
    if (claimed[c] || reached[c].state != CaseState::kOpen) continue;
    CaseRow empty = reached[c];
    empty.state = CaseState::kEmpty;
    Part nothing;
    nothing.from = empty.first_at;
    nothing.to = empty.last_at;
    if (auto done = decide_case(empty, false, nothing, claims, 0); !done) return done;
  }
  return {};
}

Result<std::optional<Number>> Recorder::claim_for(const std::vector<StoredDeclaration>& claims, Instant last,
                                                  size_t* index) {
  if (claims.empty()) return std::optional<Number>();
  std::vector<casework::Claim> known;
  std::vector<size_t> owner;
  for (size_t i = 0; i < claims.size(); ++i) {
    known.push_back({claims[i].came_at, claims[i].list, claims[i].declaration.place.offset, claims[i].content});
    owner.push_back(i);
    if (claims.size() == 1) break;
    auto again = ledger_.receipts_of(Ledger::ReceiptKind::kDeclaration, claims[i].id);
    if (!again) return again.error();
    for (const ledger::Receipt& receipt : *again) {
      known.push_back({receipt.came_at, receipt.list, receipt.offset, claims[i].content});
      owner.push_back(i);
    }
  }
  const auto in_force = casework::claim_in_force(known, last, house_->reopen_after);
  if (!in_force) return std::optional<Number>();
  *index = owner[*in_force];
  return std::optional<Number>(claims[*index].id);
}

// Each measurement once, in the order of time.
Result<void> Recorder::measure(Number subject, Instant from, Instant to, Measured& out) {
  auto found = ledger_.readings_of(subject, from, to);
  if (!found) return found.error();
  out.loaded = std::move(found).value();
  const auto& loaded = out.loaded;
  std::erase_if(out.loaded, [](const StoredReading& r) { return !r.live; });
  out.joined.reserve(loaded.size());
  for (const StoredReading& r : loaded) {
    if (r.pair != 0) continue;
    const auto second = std::find_if(loaded.begin(), loaded.end(), [&](const StoredReading& s) { return s.pair == r.id; });
    out.joined.push_back(second == loaded.end() ? r.reading : casework::joined(r.reading, second->reading));
    out.list.push_back({r.id, &out.joined.back(), &house_->rules_of(r.reading.instrument),
                        second == loaded.end() ? 0 : second->id});
  }
  return {};
}

Result<Recorder::Evaluated> Recorder::evaluate(Number case_number, const Part& part,
                                               const std::vector<StoredDeclaration>& claims, Number merged_into) {
  size_t index = 0;
  auto claim = claim_for(claims, part.to, &index);
  if (!claim) return claim.error();
  Evaluated evaluated;
  evaluated.declared = *claim ? &claims[index].declaration : nullptr;
  OutcomeRow& outcome = evaluated.outcome;
  outcome.case_number = case_number;
  outcome.decision = casework::decide(casework::weigh(part.measurements, evaluated.declared, *house_), *house_);
  outcome.kind = outcome.decision.evidence.stone.kind;
  outcome.declaration = *claim ? **claim : 0;
  outcome.merged_into = merged_into;
  outcome.house = house_number_;
  return evaluated;
}

// A person's word holds against the policy for as long as the policy says what it said before, of the same evidence.
Result<std::optional<OutcomeRow>> Recorder::last_of_policy(const OutcomeRow& last) {
  std::optional<OutcomeRow> at = last;
  while (at && at->hand) {
    auto before = ledger_.outcome(at->case_number, at->sequence - 1);
    if (!before) return before;
    at = std::move(*before);
  }
  return at;
}

Result<void> Recorder::decide_case(CaseRow row, bool fresh_case, const Part& part,
                                   const std::vector<StoredDeclaration>& claims, Number merged_into) {
  auto evaluated = evaluate(row.number, part, claims, merged_into);
  if (!evaluated) return evaluated.error();
  OutcomeRow& outcome = evaluated->outcome;
  CaseRow updated = row;
  if (merged_into == 0) {
    updated.first_at = part.from;
    updated.last_at = part.to;
  }
  bool tell_it = true;
  if (row.sequence > 0) {
    auto last = ledger_.outcome(row.number, row.sequence);
    if (!last) return last.error();
    if (*last) {
      auto compared = last_of_policy(**last);
      if (!compared) return compared.error();
      tell_it = !*compared || !same_answer(**compared, outcome);
      outcome.previous = (*last)->decision.disposition;
    }
  }
  if (tell_it) updated.sequence = row.sequence + 1;
  if (auto done = ledger_.put_case(updated, fresh_case); !done) return done;
  if (!tell_it) return {};
  outcome.sequence = updated.sequence;
  return put_outcome(std::move(outcome), part, evaluated->declared);
}

Result<void> Recorder::put_outcome(OutcomeRow outcome, const Part& part, const model::Declaration* declared) {
  outcome.decided_at = clock_.now();
  for (const Measurement& m : part.measurements) {
    if (m.id < receipts_end_) outcome.duplicates += ledger_.count_receipts(Ledger::ReceiptKind::kReading, m.id);
  }
  std::vector<ledger::Measured>& measured = outcome.measured.emplace();
  for (const Measurement& m : part.measurements) measured.push_back({m.id, m.second});
  if (auto done = ledger_.add_outcome(outcome); !done) return done;
  ++new_counts_.outcomes;
  ++new_outcomes_[static_cast<size_t>(outcome.decision.disposition)];
  if (outcome.hand) ++new_by_hand_;
  if (is_watched_) decided_.push_back({outcome.case_number, outcome.sequence});
  if (auto done = note_shadow(outcome, part, declared); !done) return done;
  return tell(outcome);
}

Result<void> Recorder::note_shadow(const OutcomeRow& outcome, const Part& part, const model::Declaration* declared) {
  if (!shadow_) return {};
  const model::Decision decision = casework::decide(casework::weigh(part.measurements, declared, *shadow_), *shadow_);
  return ledger_.add_shadow({outcome.case_number, outcome.sequence, shadow_number_, decision.disposition,
                             decision.reason, decision.rule});
}

// Those that the policy names, and those that heard of the case before: what they know must not grow old.
Result<std::vector<Number>> Recorder::listeners(const OutcomeRow& outcome) {
  const auto named = casework::outlets_for(outcome.decision, outcome.previous, *house_);
  std::vector<Number> before;
  if (named && outcome.sequence > 1) {
    auto found = ledger_.outlets_of(outcome.case_number);
    if (!found) return found;
    before = std::move(found).value();
  }
  std::vector<Number> listeners;
  for (const Outlet& outlet : outlets_) {
    const bool hears = !named || std::ranges::binary_search(*named, outlet.name) ||
                       std::ranges::binary_search(before, outlet.number);
    if (hears) listeners.push_back(outlet.number);
  }
  return listeners;
}

Result<void> Recorder::tell(const OutcomeRow& outcome) {
  auto outlets = listeners(outcome);
  if (!outlets) return outlets.error();
  for (const Number outlet : *outlets) {
    bool is_head = false;
    auto id = ledger_.add_delivery(outlet, outcome.case_number, outcome.sequence, outcome.decided_at, &is_head);
    if (!id) return id.error();
    if (!is_head || fresh_->size() >= fresh_limit_) continue;
    auto full = delivery(*id);
    if (!full) return full.error();
    if (*full) fresh_->push_back(std::move(**full));
  }
  return {};
}

Result<std::optional<model::Delivery>> Recorder::delivery(Number id) {
  auto row = ledger_.delivery(id);
  if (!row) return row.error();
  if (!*row || (*row)->state != model::DeliveryState::kWaiting) return std::optional<model::Delivery>();
  auto delivery = told_delivery(ledger_, shelf_, **row, site_, (*row)->changed_at);
  if (!delivery) return delivery.error();
  return std::optional<model::Delivery>(std::move(delivery).value());
}

}  // namespace girdle::service
