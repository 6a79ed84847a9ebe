// Casework over the whole set at once, without a ledger and without increments: what the recorder must arrive at,
// whatever the order and the batches. Slow and plain on purpose.
#pragma once

#include <algorithm>
#include <map>
#include <set>
#include <string>
#include <tuple>
#include <vector>

#include "base/digest.h"
#include "casework/decide.h"
#include "casework/same.h"
#include "casework/weigh.h"
#include "service/recorder.h"

namespace girdle::service {

struct ExpectedCase {
  base::Instant from, to;
  model::Decision decision;
  model::SubjectKind kind;
  std::string declared_content;  // of the declaration in force; empty = none

  friend bool operator==(const ExpectedCase& a, const ExpectedCase& b) {
    return a.from == b.from && a.to == b.to && a.decision.disposition == b.decision.disposition &&
           a.decision.reason == b.decision.reason && a.decision.evidence == b.decision.evidence &&
           a.kind == b.kind && a.declared_content == b.declared_content;
  }
};
using ExpectedCases = std::map<std::string, std::vector<ExpectedCase>>;  // by subject, in the order of time

inline int64_t first_eight(const base::Digest& digest) {
  int64_t number;
  std::copy_n(digest.begin(), sizeof number, reinterpret_cast<uint8_t*>(&number));
  return number;
}

inline int64_t content_number(const model::Reading& reading) {
  std::string bytes;
  model::append_content(bytes, reading);
  return first_eight(base::sha256(bytes));
}

inline model::SubjectKind plain_kind(const std::vector<casework::Measurement>& measurements,
                                     const model::Declaration* declared) {
  if (declared && declared->subject_kind) return *declared->subject_kind;
  std::set<std::pair<base::Instant, model::SubjectKind>> kinds;
  for (const auto& m : measurements) {
    if (m.reading->subject_kind && !is_default(*m.reading, "subject_kind")) kinds.emplace(m.reading->measured_at, *m.reading->subject_kind);
  }
  return kinds.empty() ? model::SubjectKind::kStone : kinds.begin()->second;
}

// What a person said of a record that gives no stock number: of its run or, without a run, of this record alone.
using RunOrRecord = std::tuple<std::string, std::string, int64_t, int64_t>;  // instrument; run, or time and content
using HandBindings = std::map<RunOrRecord, std::pair<std::string, std::string>>;  // stock number, position

inline RunOrRecord run_or_record(const model::Reading& r) {
  if (!r.run.empty()) return {r.instrument, r.run, 0, 0};
  return {r.instrument, "", base::to_millis(r.measured_at), content_number(r)};
}

inline void give_hand_bindings(model::Reading& reading, const HandBindings& bindings) {
  const auto at = bindings.find(run_or_record(reading));
  if (!reading.stock_number.empty() || at == bindings.end()) return;
  reading.stock_number = at->second.first;
  if (!at->second.second.empty()) reading.position = at->second.second;
}

inline ExpectedCases whole_set(const std::vector<Batch>& batches, const casework::House& house,
                               const HandBindings& bindings = {}) {
  using Identity = std::tuple<std::string, std::string, int64_t, int64_t>;
  std::map<Identity, casework::Known> distinct;
  std::map<std::string, std::vector<std::pair<casework::Claim, const model::Declaration*>>> claims;
  std::map<std::string, std::vector<model::Scan>> scans;
  std::map<std::string, int64_t> intakes;
  for (const Batch& batch : batches) {
    const int64_t intake = intakes.emplace(batch.document.intake, static_cast<int64_t>(intakes.size()) + 1).first->second;
    for (const model::Reading& r : batch.records.readings) {
      casework::Known known{0, {intake}, batch.document.came_at, r.place.offset, content_number(r), r};
      const Identity identity{r.instrument, r.run, r.run.empty() ? base::to_millis(r.measured_at) : 0, known.content};
      const auto [at, fresh] = distinct.emplace(identity, known);
      if (fresh) continue;
      casework::Known& first = at->second;
      std::tie(first.came_at, first.offset) =
          std::min(std::tuple(known.came_at, known.offset), std::tuple(first.came_at, first.offset));
      const auto place = std::ranges::lower_bound(first.intakes, intake);
      if (place == first.intakes.end() || *place != intake) first.intakes.insert(place, intake);
    }
    for (const model::Declaration& d : batch.records.declarations) {
      std::string bytes;
      model::append_content(bytes, d);
      const int64_t number = first_eight(base::sha256(bytes));
      claims[model::subject_key(d.stock_number, d.position)].push_back(
          {{d.declared_at.value_or(batch.document.came_at), first_eight(batch.document.digest), d.place.offset, number}, &d});
    }
    for (const model::Scan& s : batch.records.scans) scans[s.bench].push_back(s);
  }

  // Corrections.
  std::map<std::pair<std::string, std::string>, const casework::Known*> newest;
  for (const auto& [identity, known] : distinct) {
    if (known.reading.run.empty()) continue;
    const casework::Known*& best = newest[{known.reading.instrument, known.reading.run}];
    if (!best || casework::by_age(*best, known) < 0) best = &known;
  }
  std::map<std::string, std::vector<casework::Known>> by_instrument;
  for (const auto& [identity, known] : distinct) {
    const model::Reading& r = known.reading;
    if (!r.run.empty() && newest[{r.instrument, r.run}] != &known) continue;
    by_instrument[r.instrument].push_back(known);
    give_hand_bindings(by_instrument[r.instrument].back().reading, bindings);
  }

  // Routes and scans.
  std::map<std::string, std::vector<model::Reading>> of_subject;
  for (const auto& [serial, records] : by_instrument) {
    const casework::InstrumentRules& rules = house.rules_of(serial);
    std::set<size_t> second;
    std::map<size_t, size_t> partner;
    if (rules.cycle.count() > 0) {
      for (const casework::Pair& pair : casework::pair_routes(records, rules.cycle)) {
        second.insert(pair.second);
        partner[pair.first] = pair.second;
      }
    }
    for (size_t i = 0; i < records.size(); ++i) {
      if (second.contains(i)) continue;
      model::Reading reading = partner.contains(i) ? casework::joined(records[i].reading, records[partner[i]].reading)
                                                   : records[i].reading;
      std::string stock = reading.stock_number, position = reading.position;
      if (stock.empty()) {
        if (rules.bench.empty()) continue;
        const auto& all = scans[rules.bench];
        const auto scan = casework::binding_scan(all, reading.measured_at, house.scan_fresh);
        if (!scan) continue;
        stock = all[*scan].stock_number;
        if (!all[*scan].position.empty()) position = all[*scan].position;
      }
      of_subject[model::subject_key(stock, position)].push_back(std::move(reading));
    }
  }

  ExpectedCases expected;
  for (auto& [key, readings] : of_subject) {
    std::sort(readings.begin(), readings.end(),
              [](const auto& a, const auto& b) { return a.measured_at < b.measured_at; });
    std::vector<base::Instant> times;
    for (const auto& r : readings) times.push_back(r.measured_at);
    const auto starts = casework::case_starts(times, house.reopen_after);
    for (size_t p = 0; p < starts.size(); ++p) {
      const size_t end = p + 1 < starts.size() ? starts[p + 1] : readings.size();
      std::vector<casework::Measurement> measurements;
      for (size_t i = starts[p]; i < end; ++i) {
        measurements.push_back({0, &readings[i], &house.rules_of(readings[i].instrument)});
      }
      std::vector<casework::Claim> times_of_claims;
      for (const auto& claim : claims[key]) times_of_claims.push_back(claim.first);
      const auto in_force = casework::claim_in_force(times_of_claims, times[end - 1], house.reopen_after);
      const model::Declaration* declared = in_force ? claims[key][*in_force].second : nullptr;
      ExpectedCase one{times[starts[p]], times[end - 1],
                       casework::decide(casework::weigh(measurements, declared, house), house),
                       plain_kind(measurements, declared), {}};
      if (declared) model::append_content(one.declared_content, *declared);
      expected[key].push_back(std::move(one));
    }
  }
  return expected;
}

}  // namespace girdle::service
