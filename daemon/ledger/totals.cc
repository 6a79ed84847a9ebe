// What is known of outlets and instruments without looking at their rows: gathered while a transaction runs, written once
// by its commit.
#include <algorithm>

#include "ledger/rows.h"
#include "ledger/state.h"

namespace girdle::ledger {
namespace {

using base::from_millis;
using base::Instant;
using base::Result;
using base::to_millis;
using model::DeliveryState;

// Deliveries that were sent again may have old numbers: so many of those that wait are looked at for the oldest.
constexpr int64_t kMostUnsent = 1000;

}  // namespace

void Ledger::State::count_delivery(Number outlet, std::optional<DeliveryState> before, DeliveryState after) {
  auto& counts = total_changes[outlet].counts;
  if (before) --counts[static_cast<size_t>(*before)];
  ++counts[static_cast<size_t>(after)];
}

// Attempts that are under way side by side are not marked in the order in which they began.
void Ledger::State::count_attempt(Number outlet, Number delivery, int64_t number, const AttemptRow& attempt) {
  std::optional<AttemptRow>& last = total_changes[outlet].last;
  if (last && last->at > attempt.at) return;
  last = attempt;
  last->delivery = delivery;
  last->number = number;
}

void Ledger::State::forget_changes() {
  seen.clear();
  total_changes.clear();
}

Result<void> Ledger::State::write_seen() {
  if (seen.empty()) return {};
  auto done = ready(update_instrument,
                    "UPDATE instrument SET last_measured_at = max(coalesce(last_measured_at, ?1), ?1), "
                    "last_came_at = max(coalesce(last_came_at, ?2), ?2) WHERE id = ?3");
  if (!done) return done;
  for (const auto& [instrument, times] : seen) {
    Statement& update = update_instrument;
    update.start().bind(to_millis(times.measured_at)).bind(to_millis(times.came_at)).bind(instrument);
    if (done = update.run(); !done) return done;
  }
  return {};
}

Result<void> Ledger::State::write_totals() {
  if (total_changes.empty()) return {};
  auto done = ready(upsert_total,
                    "INSERT INTO outlet_total VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12) "
                    "ON CONFLICT DO UPDATE SET waiting = waiting + ?2, sent = sent + ?3, parked = parked + ?4, "
                    "skipped = skipped + ?5");
  if (done) {
    done = ready(update_last_attempt,
                 "UPDATE outlet_total SET delivery = ?2, number = ?3, at = ?4, took = ?5, status = ?6, note = ?7, "
                 "answer = ?8 WHERE outlet = ?1 AND (at IS NULL OR at <= ?4)");
  }
  if (!done) return done;
  for (const auto& [outlet, change] : total_changes) {
    if (done = write_total(outlet, change); !done) return done;
  }
  return {};
}

Result<void> Ledger::State::write_total(Number outlet, const TotalChange& change) {
  Statement& upsert = upsert_total;
  upsert.start().bind(outlet);
  for (const int64_t count : change.counts) upsert.bind(count);
  if (auto done = upsert.run(); !done || !change.last) return done;
  const AttemptRow& a = *change.last;
  Statement& update = update_last_attempt;
  update.start().bind(outlet).bind(a.delivery).bind(a.number).bind(to_millis(a.at)).bind(a.took.count());
  update.bind(int64_t{a.status}).bind_text_or_null(a.note);
  const std::string_view answer = std::string_view(a.answer).substr(0, kMostAnswer);
  if (answer.empty()) {
    update.bind_null();
  } else {
    update.bind_blob(answer);
  }
  return update.run();
}

// Since when a delivery waits: since its outcome was decided or, of one that was sent again, since it was.
Result<Instant> Ledger::State::waits_since(Number delivery, int64_t attempts, int64_t made, Instant changed_at) {
  if (attempts == 0) return changed_at;
  auto done = ready(select_attempt_time, "SELECT at FROM attempt WHERE delivery = ? AND number = ?");
  if (!done) return done.error();
  auto first = select_attempt_time.start().bind(delivery).bind(made - attempts + 1).step();
  if (!first) return first.error();
  const Instant since = *first ? from_millis(select_attempt_time.number(0)) : changed_at;
  select_attempt_time.reset();
  return since;
}

Result<std::optional<Instant>> Ledger::State::oldest_waiting(Number outlet) {
  // By number, which is the order in which they were made: the first one that was never sent again ends the search.
  auto done = ready(select_unsent,
                    "SELECT d.id, d.attempts, coalesce(d.made, d.attempts), d.changed_at, o.decided_at, d.told "
                    "FROM delivery d INDEXED BY delivery_unsent LEFT JOIN outcome o ON o.case_number = d.case_number "
                    "AND o.sequence = d.sequence WHERE d.outlet = ? AND d.state = 0 ORDER BY d.id LIMIT ?");
  if (!done) return done.error();
  std::optional<Instant> oldest;
  Statement& select = select_unsent;
  select.start().bind(outlet).bind(kMostUnsent);
  for (;;) {
    auto row = select.step();
    if (!row) return row.error();
    if (!*row) return oldest;
    const int64_t attempts = select.number(1), made = select.number(2);
    const Instant changed_at = from_millis(select.number(3));
    const bool was_sent_again = made > attempts || !select.is_null(5);
    Instant since = select.is_null(4) ? changed_at : from_millis(select.number(4));
    if (was_sent_again) {
      auto again = waits_since(select.number(0), attempts, made, changed_at);
      if (!again) return again.error();
      since = *again;
    }
    oldest = oldest ? std::min(*oldest, since) : since;
    if (was_sent_again) continue;
    select.reset();
    return oldest;
  }
}

Result<OutletTotals> Ledger::outlet_totals(Number outlet) {
  GIRDLE_READY(select_total,
               "SELECT waiting, sent, parked, skipped, delivery, number, at, took, status, note, answer "
               "FROM outlet_total WHERE outlet = ?");
  OutletTotals totals;
  Statement& select = state_->select_total;
  auto row = select.start().bind(outlet).step();
  if (!row) return row.error();
  if (!*row) return totals;
  totals.waiting = select.number(0);
  totals.sent = select.number(1);
  totals.parked = select.number(2);
  totals.skipped = select.number(3);
  if (!select.is_null(4)) totals.last = row_attempt(select, 4);
  select.reset();
  if (totals.waiting == 0) return totals;
  auto oldest = state_->oldest_waiting(outlet);
  if (!oldest) return oldest.error();
  totals.oldest_waiting_at = *oldest;
  return totals;
}

Result<std::vector<InstrumentRow>> Ledger::instruments() {
  Statement select;
  auto ready = select.prepare(state_->database,
                              "SELECT id, serial, last_measured_at, last_came_at FROM instrument ORDER BY serial");
  if (!ready) return ready.error();
  std::vector<InstrumentRow> instruments;
  auto done = for_rows(select.start(), [&](const Statement& row) {
    instruments.push_back({row.number(0), std::string(row.text(1)), row_time(row, 2), row_time(row, 3)});
  });
  if (!done) return done.error();
  return instruments;
}

std::optional<Number> Ledger::find_instrument(std::string_view serial) {
  Statement select;
  if (!select.prepare(state_->database, "SELECT id FROM instrument WHERE serial = ?")) return std::nullopt;
  auto row = select.start().bind(serial).step();
  if (!row || !*row) return std::nullopt;
  return select.number(0);
}

Result<std::vector<StoredReading>> Ledger::last_readings_of(Number instrument, int64_t limit) {
  GIRDLE_READY(select_last_readings, "SELECT " GIRDLE_READING_COLUMNS
                                     " FROM reading r WHERE r.instrument = ? ORDER BY r.slot DESC LIMIT ?");
  std::vector<StoredReading> readings;
  auto done = for_rows(state_->select_last_readings.start().bind(instrument).bind(limit),
                       [&](const Statement& row) { row_reading(row, 0, readings.emplace_back()); });
  if (!done) return done.error();
  const std::string serial = instrument_serial(instrument);
  for (StoredReading& r : readings) r.reading.instrument = serial;
  std::ranges::stable_sort(readings, std::ranges::greater(), [](const StoredReading& r) { return r.reading.measured_at; });
  return readings;
}

}  // namespace girdle::ledger
