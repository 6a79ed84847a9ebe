// Deliveries: what waits, what became of it, every attempt; and the outlets that they go to.
#include <algorithm>

#include "base/time.h"
#include "ledger/pattern.h"
#include "ledger/rows.h"
#include "ledger/state.h"

namespace girdle::ledger {
namespace {

using base::from_millis;
using base::Result;
using base::to_millis;

constexpr int64_t kDay = 24 * 60 * 60 * 1000;

Result<bool> any_row(Statement& started) {
  auto row = started.step();
  if (!row) return row.error();
  const bool any = *row;
  started.reset();
  return any;
}

}  // namespace

Result<Number> Ledger::add_delivery(Number outlet, Number case_number, int64_t sequence, base::Instant now,
                                    bool* is_head) {
  GIRDLE_READY(select_waiting,
               "SELECT 1 FROM delivery WHERE case_number = ? AND outlet = ? AND state = 0 LIMIT 1");
  GIRDLE_READY(insert_delivery,
               "INSERT INTO delivery (outlet, case_number, sequence, state, attempts, due_at, status, note, changed_at) "
               "VALUES (?, ?, ?, 0, 0, ?, 0, '', ?)");
  auto waiting = any_row(state_->select_waiting.start().bind(case_number).bind(outlet));
  if (!waiting) return waiting.error();
  *is_head = !*waiting;
  Statement& insert = state_->insert_delivery;
  insert.start().bind(outlet).bind(case_number).bind(sequence);
  if (*is_head) {
    insert.bind(to_millis(now));
  } else {
    insert.bind_null();
  }
  if (auto done = insert.bind(to_millis(now)).run(); !done) return done.error();
  state_->count_delivery(outlet, {}, model::DeliveryState::kWaiting);
  return sqlite3_last_insert_rowid(state_->database.handle());
}

Result<Number> Ledger::mark_delivery(const DeliveryRow& row, const AttemptRow* attempt) {
  // A delivery of an older version has no count of all its attempts: those of its schedule are all.
  GIRDLE_READY(update_delivery,
               "UPDATE delivery SET state = ?, made = coalesce(made, attempts) + ?, attempts = ?, due_at = ?, status = ?, "
               "note = ?, reference = coalesce(?, reference), changed_at = ? WHERE id = ? "
               "RETURNING outlet, case_number, made");
  GIRDLE_READY(select_delivery_state, "SELECT state FROM delivery WHERE id = ?");
  auto known = state_->select_delivery_state.start().bind(row.id).step();
  if (!known) return known.error();
  if (!*known) return Number{0};
  const auto before = static_cast<model::DeliveryState>(state_->select_delivery_state.number(0));
  state_->select_delivery_state.reset();
  Statement& update = state_->update_delivery;
  update.start().bind(static_cast<int64_t>(row.state)).bind(int64_t{attempt != nullptr}).bind(row.attempts);
  if (row.due) {
    update.bind(to_millis(*row.due));
  } else {
    update.bind_null();
  }
  update.bind(int64_t{row.status}).bind(std::string_view(row.note)).bind_text_or_null(row.reference);
  auto found = update.bind(to_millis(row.changed_at)).bind(row.id).step();
  if (!found) return found.error();
  if (!*found) return Number{0};
  const Number outlet = update.number(0), case_number = update.number(1), number = update.number(2);
  update.reset();
  state_->count_delivery(outlet, before, row.state);
  if (attempt) {
    if (auto done = state_->add_attempt(row.id, number, *attempt); !done) return done.error();
    state_->count_attempt(outlet, row.id, number, *attempt);
  }
  if (row.state == model::DeliveryState::kWaiting) return Number{0};
  return state_->make_next_head(outlet, case_number, row.changed_at);
}

Result<void> Ledger::State::add_attempt(Number delivery, int64_t number, const AttemptRow& attempt) {
  if (auto done = ready(insert_attempt, "INSERT INTO attempt VALUES (?, ?, ?, ?, ?, ?, ?)"); !done) return done;
  insert_attempt.start().bind(delivery).bind(number).bind(to_millis(attempt.at)).bind(attempt.took.count());
  insert_attempt.bind(int64_t{attempt.status}).bind_text_or_null(attempt.note);
  const std::string_view answer = std::string_view(attempt.answer).substr(0, kMostAnswer);
  if (answer.empty()) {
    insert_attempt.bind_null();
  } else {
    insert_attempt.bind_blob(answer);
  }
  return insert_attempt.run();
}

Result<Number> Ledger::State::make_next_head(Number outlet, Number case_number, base::Instant due) {
  auto done = ready(select_next_waiting,
                    "SELECT id FROM delivery WHERE case_number = ? AND outlet = ? AND state = 0 ORDER BY sequence LIMIT 1");
  if (done) done = ready(update_due, "UPDATE delivery SET due_at = ? WHERE id = ?");
  if (!done) return done.error();
  auto next = select_next_waiting.start().bind(case_number).bind(outlet).step();
  if (!next) return next.error();
  if (!*next) return Number{0};
  const Number id = select_next_waiting.number(0);
  select_next_waiting.reset();
  if (done = update_due.start().bind(to_millis(due)).bind(id).run(); !done) return done.error();
  return id;
}

Result<int64_t> Ledger::fold_attempts(base::Instant until, int64_t limit) {
  // Both take the same rows: the first ones of the index.
#define GIRDLE_OLDEST_ATTEMPTS "FROM attempt WHERE at < ?1 ORDER BY at, delivery, number LIMIT ?2"
  GIRDLE_READY(count_attempts,
               "INSERT INTO attempt_count SELECT d.outlet, a.at / 86400000, a.status, count(*), sum(a.took) "
               "FROM (SELECT delivery, at, status, took " GIRDLE_OLDEST_ATTEMPTS
               ") a CROSS JOIN delivery d ON d.id = a.delivery WHERE true GROUP BY 1, 2, 3 "
               "ON CONFLICT DO UPDATE SET count = count + excluded.count, took = took + excluded.took");
  GIRDLE_READY(delete_attempts,
               "DELETE FROM attempt WHERE (delivery, number) IN (SELECT delivery, number " GIRDLE_OLDEST_ATTEMPTS ")");
#undef GIRDLE_OLDEST_ATTEMPTS
  for (Statement* const statement : {&state_->count_attempts, &state_->delete_attempts}) {
    if (auto done = statement->start().bind(to_millis(until)).bind(limit).run(); !done) return done.error();
  }
  return int64_t{sqlite3_changes(state_->database.handle())};
}

Result<std::vector<AttemptRow>> Ledger::attempts_of(Number delivery) {
  GIRDLE_READY(select_attempts, "SELECT * FROM attempt WHERE delivery = ? ORDER BY number");
  std::vector<AttemptRow> attempts;
  auto done = for_rows(state_->select_attempts.start().bind(delivery),
                       [&](const Statement& row) { attempts.push_back(row_attempt(row, 0)); });
  if (!done) return done.error();
  return attempts;
}

Result<void> Ledger::each_attempt_count(const std::function<void(const AttemptCount&)>& each) {
  Statement select;
  auto ready = select.prepare(state_->database,
                              "SELECT o.name, a.day, a.status, a.count, a.took FROM attempt_count a "
                              "JOIN outlet o ON o.id = a.outlet ORDER BY o.name, a.day, a.status");
  if (!ready) return ready;
  return for_rows(select.start(), [&](const Statement& row) {
    AttemptCount count;
    count.outlet = row.text(0);
    count.day = base::format_rfc3339(from_millis(row.number(1) * kDay)).substr(0, sizeof "2026-11-02" - 1);
    count.status = static_cast<int>(row.number(2));
    count.count = row.number(3);
    count.took = base::Millis(row.number(4));
    each(count);
  });
}

Result<void> Ledger::close_outlet(Number outlet, std::string_view reason) {
  GIRDLE_READY(update_outlet, "UPDATE outlet SET closed = ? WHERE id = ?");
  return state_->update_outlet.start().bind_text_or_null(reason).bind(outlet).run();
}

Result<bool> Ledger::pause_outlet(Number outlet, std::string_view why, base::Instant now) {
  GIRDLE_READY(pause_outlet, "UPDATE outlet SET paused = ?, paused_at = ? WHERE id = ? AND paused IS NULL");
  const std::string_view told = why.empty() ? "no reason given" : why;
  auto done = state_->pause_outlet.start().bind(told).bind(to_millis(now)).bind(outlet).run();
  if (!done) return done.error();
  return sqlite3_changes(state_->database.handle()) > 0;
}

Result<bool> Ledger::resume_outlet(Number outlet) {
  GIRDLE_READY(resume_outlet,
               "UPDATE outlet SET closed = NULL, paused = NULL, paused_at = NULL "
               "WHERE id = ? AND (closed IS NOT NULL OR paused IS NOT NULL)");
  if (auto done = state_->resume_outlet.start().bind(outlet).run(); !done) return done.error();
  return sqlite3_changes(state_->database.handle()) > 0;
}

Result<int64_t> Ledger::hasten(Number outlet, base::Instant now) {
  GIRDLE_READY(hasten, "UPDATE delivery SET due_at = ?1 WHERE outlet = ?2 AND state = 0 AND due_at > ?1");
  if (auto done = state_->hasten.start().bind(to_millis(now)).bind(outlet).run(); !done) return done.error();
  return sqlite3_changes64(state_->database.handle());
}

std::string Ledger::outlet_closed(Number outlet) {
  if (!state_->ready(state_->select_closed, "SELECT closed FROM outlet WHERE id = ?")) return {};
  auto row = state_->select_closed.start().bind(outlet).step();
  if (!row || !*row) return {};
  std::string reason(state_->select_closed.text(0));
  state_->select_closed.reset();
  return reason;
}

std::string Ledger::outlet_paused(Number outlet) {
  if (!state_->ready(state_->select_paused, "SELECT paused FROM outlet WHERE id = ?")) return {};
  auto row = state_->select_paused.start().bind(outlet).step();
  if (!row || !*row) return {};
  std::string why(state_->select_paused.text(0));
  state_->select_paused.reset();
  return why;
}

Result<std::vector<OutletRow>> Ledger::outlets() {
  Statement select;
  auto ready = select.prepare(state_->database, "SELECT id, name, closed, paused, paused_at FROM outlet ORDER BY id");
  if (!ready) return ready.error();
  std::vector<OutletRow> outlets;
  auto done = for_rows(select.start(), [&](const Statement& row) {
    OutletRow& outlet = outlets.emplace_back();
    outlet.number = row.number(0);
    outlet.name = row.text(1);
    outlet.closed = row.text(2);
    outlet.paused = row.text(3);
    if (!row.is_null(4)) outlet.paused_at = from_millis(row.number(4));
  });
  if (!done) return done.error();
  return outlets;
}

Result<std::map<std::pair<Number, model::DeliveryState>, int64_t>> Ledger::count_deliveries() {
  Statement select;
  auto ready = select.prepare(state_->database, "SELECT outlet, waiting, sent, parked, skipped FROM outlet_total");
  if (!ready) return ready.error();
  std::map<std::pair<Number, model::DeliveryState>, int64_t> counts;
  auto done = for_rows(select.start(), [&](const Statement& row) {
    for (int state = 0; state < 4; ++state) {
      const int64_t count = row.number(1 + state);
      if (count > 0) counts[{row.number(0), static_cast<model::DeliveryState>(state)}] = count;
    }
  });
  if (!done) return done.error();
  return counts;
}

Result<std::vector<Number>> Ledger::outlets_of(Number case_number) {
  GIRDLE_READY(select_outlets_of, "SELECT DISTINCT outlet FROM delivery WHERE case_number = ? ORDER BY outlet");
  std::vector<Number> outlets;
  auto done = for_rows(state_->select_outlets_of.start().bind(case_number),
                       [&](const Statement& row) { outlets.push_back(row.number(0)); });
  if (!done) return done.error();
  return outlets;
}

Result<std::vector<DeliveryRow>> Ledger::due_deliveries(Number outlet, base::Instant now, size_t limit,
                                                        const std::vector<Number>& except, base::Instant* next_due) {
  // Out of the index alone: of the heads that are passed by, the rows are not read.
  GIRDLE_READY(select_due,
               "SELECT id, due_at FROM delivery WHERE outlet = ? AND state = 0 AND due_at IS NOT NULL ORDER BY due_at, id");
  std::vector<Number> passed_by = except;
  std::ranges::sort(passed_by);
  std::vector<DeliveryRow> rows;
  *next_due = base::Instant::max();
  Statement& select = state_->select_due;
  select.start().bind(outlet);
  for (;;) {
    auto head = select.step();
    if (!head) return head.error();
    if (!*head) return rows;
    const Number id = select.number(0);
    if (std::ranges::binary_search(passed_by, id)) continue;
    const base::Instant due = from_millis(select.number(1));
    if (due > now || rows.size() == limit) {
      *next_due = due;
      select.reset();
      return rows;
    }
    auto row = delivery(id);
    if (!row) {
      select.reset();
      return row.error();
    }
    if (*row) rows.push_back(std::move(**row));
  }
}

Result<std::optional<DeliveryRow>> Ledger::delivery(Number id) {
  GIRDLE_READY(select_delivery, "SELECT * FROM delivery WHERE id = ?");
  Statement& select = state_->select_delivery;
  auto row = select.start().bind(id).step();
  if (!row) return row.error();
  if (!*row) return std::optional<DeliveryRow>();
  DeliveryRow delivery = row_delivery(select, 0);
  select.reset();
  return std::optional<DeliveryRow>(std::move(delivery));
}

Result<bool> Ledger::is_overtaken(const DeliveryRow& row) {
  GIRDLE_READY(select_later_waiting,
               "SELECT 1 FROM delivery WHERE case_number = ? AND outlet = ? AND sequence > ? AND state = 0 LIMIT 1");
  return any_row(state_->select_later_waiting.start().bind(row.case_number).bind(row.outlet).bind(row.sequence));
}

bool Ledger::has_waiting(Number outlet) {
  if (!state_->ready(state_->select_any_waiting,
                     "SELECT 1 FROM delivery WHERE outlet = ? AND state = 0 AND due_at IS NOT NULL LIMIT 1")) {
    return false;
  }
  const auto any = any_row(state_->select_any_waiting.start().bind(outlet));
  return any && *any;
}

Result<int64_t> Ledger::count_waiting() {
  return state_->database.number("SELECT count(*) FROM delivery WHERE state = 0");
}

namespace {

// What picks the deliveries of a list: SQL, whose only parameters are the two ends of the range of keys.
std::string picked_by(const Filter& filter, std::optional<model::DeliveryState> state, Number outlet) {
  std::string from = "delivery d ", where = "WHERE true";
  if (!filter.stock_number.empty()) {
    from = "subject s CROSS JOIN delivery d ON d.case_number BETWEEN s.id << 16 AND (s.id << 16) + 65535 ";
    where += " AND s.key BETWEEN ?1 AND ?2";
  } else if (filter.case_number != 0) {
    // The index of a case's deliveries.
  } else if (state == model::DeliveryState::kWaiting) {
    from += "INDEXED BY delivery_waiting ";
  } else if (state == model::DeliveryState::kParked) {
    from += "INDEXED BY delivery_parked ";
  }
  // Numbers and states stand in the text itself: an index of one state is only used for a state that is written out.
  if (filter.case_number != 0) where += " AND d.case_number = " + std::to_string(filter.case_number);
  if (state) where += " AND d.state = " + std::to_string(static_cast<int>(*state));
  if (outlet != 0) where += " AND d.outlet = " + std::to_string(outlet);
  const int64_t since = to_millis(filter.since), until = to_millis(filter.until);
  if (filter.since != base::Instant{} || filter.until != base::Instant::max()) {
    where += " AND d.changed_at BETWEEN " + std::to_string(since) + " AND " + std::to_string(until);
  }
  return "SELECT d.id FROM " + from + where + " ORDER BY d.id DESC LIMIT " + std::to_string(filter.limit);
}

}  // namespace

Result<void> Ledger::each_delivery(
    const Filter& filter,
    const std::function<void(const DeliveryRow&, const std::string& outlet, const std::string& key)>& each) {
  const auto state = model::delivery_state_of(filter.word);
  if (!filter.word.empty() && !state) return {};
  const Number outlet = filter.outlet.empty() ? 0 : find_outlet(filter.outlet).value_or(0);
  if (!filter.outlet.empty() && outlet == 0) return {};
  Statement select;
  auto ready = select.prepare(state_->database,
                              "SELECT d.*, o.name, s.key FROM (" + picked_by(filter, state, outlet) +
                                  ") p CROSS JOIN delivery d ON d.id = p.id CROSS JOIN outlet o ON o.id = d.outlet "
                                  "CROSS JOIN subject s ON s.id = d.case_number >> 16 ORDER BY d.id DESC");
  if (!ready) return ready;
  const Pattern key = pattern_of(filter.stock_number);
  select.start();
  if (!filter.stock_number.empty()) select.bind(std::string_view(key.from)).bind(std::string_view(key.to));
  return for_rows(select, [&](const Statement& row) {
    each(row_delivery(row, 0), std::string(row.text(kDeliveryColumns)), std::string(row.text(kDeliveryColumns + 1)));
  });
}

}  // namespace girdle::ledger
