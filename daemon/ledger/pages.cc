// Pages of the lists. Each walks over numbers in the order of an index, looks at a bounded count of them, and reads the
// rows that fit.
#include <algorithm>
#include <limits>
#include <memory>

#include "ledger/pattern.h"
#include "ledger/rows.h"
#include "ledger/state.h"

namespace girdle::ledger {
namespace {

using base::Instant;
using base::Result;
using base::to_millis;
using model::DeliveryState;

constexpr int64_t kLast = std::numeric_limits<int64_t>::max();

// A page in the making.
class Filling {
 public:
  explicit Filling(const Page& page) : page_(page), next_(page.after) {}

  // Asked before a row is looked at. False: the page ends behind the one before.
  bool has_room() const { return looked_ < page_.most_looked && taken_ < page_.limit; }
  void look(Cursor at) {
    ++looked_;
    next_ = std::move(at);
  }
  void take() { ++taken_; }
  Next next() const { return next_; }

 private:
  const Page& page_;
  int64_t looked_ = 0, taken_ = 0;
  Cursor next_;
};

// Reads a row and hands it on; says whether it was wanted.
using Take = std::function<Result<bool>(Number number)>;

// `rows` has started: (number, whether it fits, time) in the order of the list, or just before `behind`. Nothing: they
// ended.
template <class Rows>
Result<Next> fill(Rows& rows, Filling& filling, const std::string& key, const Cursor& behind, const Take& take) {
  for (;;) {
    auto row = rows.step();
    if (!row) return row.error();
    if (!*row) return Next();
    const Number number = rows.number(0);
    const int64_t at = rows.number(2);
    // Of a list by time those of the same moment come once more.
    if (behind.number != 0 && at == behind.at && number >= behind.number) continue;
    if (!filling.has_room()) {
      rows.reset();
      return filling.next();
    }
    const bool fits = rows.number(1) != 0;
    filling.look({key, at, number});
    if (!fits) continue;
    auto taken = take(number);
    if (!taken) {
      rows.reset();
      return taken.error();
    }
    if (*taken) filling.take();
  }
}

// Where a list's rows come from, in SQL. Parameters: ?1 the subject, of a list by stock number; ?2 the number before which
// to go on; ?3 the time until which.
struct Source {
  std::string number, fits = "1", at = "0";
  std::string from, where, order;

  std::string sql() const {
    return "SELECT " + number + ", " + fits + ", " + at + " FROM " + from + " WHERE " + where + " ORDER BY " + order;
  }
  // A condition that no index serves: rows are looked at for it.
  void also(const std::string& condition) { fits += " AND " + condition; }
  void also_between(const std::string& column, const Filter& filter) {
    if (filter.since == Instant{} && filter.until == Instant::max()) return;
    also(column + " BETWEEN " + std::to_string(to_millis(filter.since)) + " AND " + std::to_string(to_millis(filter.until)));
  }
  void also_is(const std::string& column, int64_t value) { also(column + " = " + std::to_string(value)); }
};

void start(Statement& rows, Number first, const Cursor& behind) {
  const bool is_first = behind.number == 0;
  rows.start().bind(first).bind(is_first ? kLast : behind.number).bind(is_first ? kLast : behind.at);
}

Result<Next> fill_plain(Database& database, const Source& source, const Page& page, const Take& take) {
  Statement rows;
  if (auto done = rows.prepare(database, source.sql()); !done) return done.error();
  Filling filling(page);
  start(rows, 0, page.after);
  return fill(rows, filling, "", page.after, take);
}

// Subject by subject, by key. A subject is looked at like a row: there may be a million that have none. A cursor without
// a number stands behind all of its subject.
Result<Next> fill_by_subject(Database& database, const std::string& asked, const Source& source, const Page& page,
                             const Take& take) {
  const Pattern keys = pattern_of(asked);
  const std::string& from = std::max(keys.from, page.after.key);
  Statement subjects, rows;
  auto done = subjects.prepare(database, "SELECT id, key FROM subject WHERE key BETWEEN ?1 AND ?2 ORDER BY key");
  if (done) done = rows.prepare(database, source.sql());
  if (!done) return done.error();
  Filling filling(page);
  subjects.start().bind(std::string_view(from)).bind(std::string_view(keys.to));
  for (;;) {
    auto subject = subjects.step();
    if (!subject) return subject.error();
    if (!*subject) return Next();
    const std::string key(subjects.text(1));
    const bool is_begun = key == page.after.key;
    if (is_begun && page.after.number == 0) continue;
    if (!filling.has_room()) {
      subjects.reset();
      return filling.next();
    }
    const Cursor behind = is_begun ? page.after : Cursor{};
    start(rows, subjects.number(0), behind);
    auto next = fill(rows, filling, key, behind, take);
    if (!next || *next) {
      subjects.reset();
      return next;
    }
    filling.look({key, 0, 0});
  }
}

// Rows of several statements, each by descending number, as one by descending number.
class Merged {
 public:
  Result<void> add(Database& database, const std::string& sql, Number first, const Cursor& behind) {
    auto statement = std::make_unique<Statement>();
    if (auto done = statement->prepare(database, sql); !done) return done;
    start(*statement, first, behind);
    auto row = statement->step();
    if (!row) return row.error();
    if (*row) ahead_.push_back(std::move(statement));
    return {};
  }

  Result<bool> step() {
    if (current_ != nullptr) {
      auto row = current_->step();
      if (!row) return row;
      if (!*row) std::erase_if(ahead_, [&](const auto& one) { return one.get() == current_; });
    }
    const auto at = std::ranges::max_element(ahead_, {}, [](const auto& one) { return one->number(0); });
    current_ = at == ahead_.end() ? nullptr : at->get();
    return current_ != nullptr;
  }
  int64_t number(int column) const { return current_->number(column); }
  void reset() { ahead_.clear(); }

 private:
  std::vector<std::unique_ptr<Statement>> ahead_;  // each at its next row
  Statement* current_ = nullptr;
};

Result<Next> nothing() { return Next(); }

}  // namespace

Result<Next> Ledger::page_of_cases(const Filter& filter, const Page& page, const std::function<void(const CaseLine&)>& each) {
  const auto disposition = model::disposition_of(filter.word);
  if (!filter.word.empty() && !disposition) return nothing();
  Source source;
  source.number = "c.number";
  source.order = "c.number DESC";
  if (filter.state) source.also_is("c.state", static_cast<int64_t>(*filter.state));
  if (disposition) source.also_is("o.disposition", static_cast<int64_t>(*disposition));
  const size_t without_outcome = source.fits.size();
  source.also_between("o.decided_at", filter);
  const bool asks_outcome = disposition || source.fits.size() > without_outcome;
  source.from = "cases c";
  if (asks_outcome) source.from += " LEFT JOIN outcome o ON o.case_number = c.number AND o.sequence = c.sequence";
  const auto take = [&](Number number) -> Result<bool> {
    auto line = case_line(number);
    if (!line) return line.error();
    if (!*line) return false;
    each(**line);
    return true;
  };
  if (filter.stock_number.empty()) {
    source.where = "c.number < ?2";
    return fill_plain(state_->database, source, page, take);
  }
  source.where = "c.number >= ?1 << 16 AND c.number < min(?2, (?1 << 16) + 65536)";
  return fill_by_subject(state_->database, filter.stock_number, source, page, take);
}

Result<Next> Ledger::page_of_readings(const Filter& filter, const Page& page,
                                      const std::function<void(const ReadingLine&)>& each) {
  const auto finding = model::finding_of(filter.word);
  const auto instrument = filter.instrument.empty() ? std::nullopt : find_instrument(filter.instrument);
  const auto intake = filter.intake.empty() ? std::nullopt : find_intake(filter.intake);
  const bool is_unknown = (!filter.word.empty() && !finding) || (!filter.instrument.empty() && !instrument) ||
                          (!filter.intake.empty() && !intake) || (filter.unbound && !filter.stock_number.empty());
  if (is_unknown) return nothing();
  Source source;
  source.number = "r.id";
  if (instrument) source.also_is("r.instrument", *instrument);
  if (intake) source.also_is("r.intake", *intake);
  if (finding) source.also_is("r.finding", static_cast<int64_t>(*finding));
  source.also_between("r.measured_at", filter);
  const auto take = [&](Number number) -> Result<bool> {
    auto line = reading_line(number);
    if (!line) return line.error();
    if (!*line) return false;
    each(**line);
    return true;
  };
  const bool by_subject = !filter.stock_number.empty();
  if (!by_subject && !filter.unbound) {
    source.from = "reading r";
    source.where = "r.id < ?2";
    source.order = "r.id DESC";
    return fill_plain(state_->database, source, page, take);
  }
  source.at = "r.measured_at";
  source.from = "reading r INDEXED BY reading_of_subject";
  source.order = "r.measured_at DESC, r.id DESC";
  source.where = (by_subject ? "r.subject = ?1" : "r.subject IS NULL") + std::string(" AND r.measured_at <= ?3");
  return by_subject ? fill_by_subject(state_->database, filter.stock_number, source, page, take)
                    : fill_plain(state_->database, source, page, take);
}

Result<Next> Ledger::page_of_asides(const Filter& filter, const Page& page, const std::function<bool(const AsideRow&)>& each) {
  const auto intake = filter.intake.empty() ? std::nullopt : find_intake(filter.intake);
  if (!filter.intake.empty() && !intake) return nothing();
  Source source;
  source.number = "a.id";
  source.from = filter.open ? "aside a INDEXED BY aside_open" : "aside a";
  source.where = filter.open ? "a.settled_at IS NULL AND a.id < ?2" : "a.id < ?2";
  source.order = "a.id DESC";
  if (intake) source.also_is("a.intake", *intake);
  source.also_between("a.at", filter);
  return fill_plain(state_->database, source, page, [&](Number number) -> Result<bool> {
    auto row = state_->aside(number, !filter.brief);
    if (!row) return row.error();
    return *row && each(**row);
  });
}

Result<Next> Ledger::page_of_declarations(const Filter& filter, const Page& page,
                                          const std::function<void(const DeclarationLine&)>& each) {
  Source source;
  source.number = "d.id";
  source.from = "declaration d";
  source.order = "d.id DESC";
  const auto take = [&](Number number) -> Result<bool> {
    auto line = declaration_line(number);
    if (!line) return line.error();
    if (!*line) return false;
    each(**line);
    return true;
  };
  if (filter.stock_number.empty()) {
    source.where = "d.id < ?2";
    return fill_plain(state_->database, source, page, take);
  }
  source.where = "d.subject = ?1 AND +d.id < ?2";
  source.order = "+d.id DESC";  // sorted: a subject has few
  return fill_by_subject(state_->database, filter.stock_number, source, page, take);
}

Result<Next> Ledger::page_of_deliveries(const Filter& filter, const Page& page,
                                        const std::function<void(const DeliveryLine&)>& each) {
  const auto state = model::delivery_state_of(filter.word);
  const auto outlet = filter.outlet.empty() ? std::nullopt : find_outlet(filter.outlet);
  if ((!filter.word.empty() && !state) || (!filter.outlet.empty() && !outlet)) return nothing();
  Source source;
  source.number = "d.id";
  source.from = "delivery d";
  source.where = "d.id < ?2";
  source.order = "d.id DESC";
  source.also_between("d.changed_at", filter);
  const auto take = [&](Number number) -> Result<bool> {
    auto line = delivery_line(number);
    if (!line) return line.error();
    if (!*line) return false;
    each(**line);
    return true;
  };
  const bool has_index = state == DeliveryState::kWaiting || state == DeliveryState::kParked;
  if (filter.stock_number.empty() && filter.case_number == 0 && has_index) {
    source.from += state == DeliveryState::kWaiting ? " INDEXED BY delivery_unsent" : " INDEXED BY delivery_parked";
    source.where += " AND d.outlet = ?1 AND d.state = " + std::to_string(static_cast<int>(*state));
    return state_->merge_outlets(*this, source.sql(), outlet, page, take);
  }
  if (state) source.also_is("d.state", static_cast<int64_t>(*state));
  if (outlet) source.also_is("d.outlet", *outlet);
  if (filter.stock_number.empty() && filter.case_number == 0) return fill_plain(state_->database, source, page, take);
  // Sorted: a case, and a subject, has few.
  source.order = "+d.id DESC";
  source.where = "+d.id < ?2 AND d.case_number ";
  if (filter.stock_number.empty()) {
    source.where += "= " + std::to_string(filter.case_number);
    return fill_plain(state_->database, source, page, take);
  }
  source.where += "BETWEEN ?1 << 16 AND (?1 << 16) + 65535";
  if (filter.case_number != 0) source.also_is("d.case_number", filter.case_number);
  return fill_by_subject(state_->database, filter.stock_number, source, page, take);
}

// Rows of one outlet each; of all outlets where none is named.
Result<Next> Ledger::State::merge_outlets(Ledger& ledger, const std::string& sql, std::optional<Number> only, const Page& page,
                                          const std::function<Result<bool>(Number)>& take) {
  std::vector<Number> numbers;
  if (only) {
    numbers.push_back(*only);
  } else {
    auto known = ledger.outlets();
    if (!known) return known.error();
    for (const OutletRow& outlet : *known) numbers.push_back(outlet.number);
  }
  Merged rows;
  for (const Number number : numbers) {
    if (auto done = rows.add(database, sql, number, page.after); !done) return done.error();
  }
  Filling filling(page);
  return fill(rows, filling, "", page.after, take);
}

Result<std::optional<CaseLine>> Ledger::case_line(Number case_number) {
  GIRDLE_READY(select_case_line,
               "SELECT s.key, c.*, o.* FROM cases c CROSS JOIN subject s ON s.id = c.number >> 16 "
               "CROSS JOIN outcome o ON o.case_number = c.number AND o.sequence = c.sequence WHERE c.number = ?");
  Statement& select = state_->select_case_line;
  auto row = select.start().bind(case_number).step();
  if (!row) return row.error();
  if (!*row) return std::optional<CaseLine>();
  CaseLine line;
  line.key = select.text(0);
  line.row = row_case(select, 1);
  line.case_id = case_id(case_number);
  auto done = row_outcome(select, 7, line.outcome);
  select.reset();
  if (done) done = read_hand(line.outcome);
  if (!done) return done.error();
  return std::optional(std::move(line));
}

Result<std::optional<ReadingLine>> Ledger::reading_line(Number id) {
  auto stored = reading(id);
  if (!stored) return stored.error();
  if (!*stored) return std::optional<ReadingLine>();
  ReadingLine line;
  line.stored = std::move(**stored);
  if (line.stored.subject != 0) line.key = subject_key(line.stored.subject);
  if (!line.stored.reading.stock_number.empty()) return std::optional(std::move(line));
  auto binding = binding_of(id);
  if (!binding) return binding.error();
  line.binding = std::move(*binding);
  return std::optional(std::move(line));
}

Result<std::optional<DeclarationLine>> Ledger::declaration_line(Number id) {
  GIRDLE_READY(select_declaration_by_id, "SELECT " GIRDLE_DECLARATION_COLUMNS "WHERE d.id = ?");
  Statement& select = state_->select_declaration_by_id;
  auto row = select.start().bind(id).step();
  if (!row) return row.error();
  if (!*row) return std::optional<DeclarationLine>();
  DeclarationLine line;
  row_declaration(select, 0, line.stored);
  select.reset();
  line.key = model::subject_key(line.stored.declaration.stock_number, line.stored.declaration.position);
  auto came = arrival(line.stored.document);
  if (!came) return came.error();
  line.arrival = std::move(*came);
  return std::optional(std::move(line));
}

Result<std::optional<DeliveryLine>> Ledger::delivery_line(Number id) {
  GIRDLE_READY(select_delivery_line,
               "SELECT d.*, o.name, coalesce(s.key, '') FROM delivery d CROSS JOIN outlet o ON o.id = d.outlet "
               "LEFT JOIN subject s ON s.id = d.case_number >> 16 WHERE d.id = ?");
  Statement& select = state_->select_delivery_line;
  auto row = select.start().bind(id).step();
  if (!row) return row.error();
  if (!*row) return std::optional<DeliveryLine>();
  DeliveryLine line{row_delivery(select, 0), std::string(select.text(kDeliveryColumns)),
                    std::string(select.text(kDeliveryColumns + 1))};
  select.reset();
  return std::optional(std::move(line));
}

}  // namespace girdle::ledger
