// Reading the ledger, by number and by name.
#include "ledger/pattern.h"
#include "ledger/rows.h"
#include "ledger/state.h"

namespace girdle::ledger {
namespace {

using base::from_millis;
using base::Result;
using base::to_millis;

}  // namespace

std::optional<Number> Ledger::find_subject(std::string_view key) {
  if (!state_->ready(state_->select_subject, "SELECT id FROM subject WHERE key = ?")) return std::nullopt;
  auto row = state_->select_subject.start().bind(key).step();
  if (!row || !*row) return std::nullopt;
  const Number id = state_->select_subject.number(0);
  state_->select_subject.reset();
  return id;
}

std::string Ledger::subject_key(Number subject) {
  if (!state_->ready(state_->select_key, "SELECT key FROM subject WHERE id = ?")) return {};
  auto row = state_->select_key.start().bind(subject).step();
  if (!row || !*row) return {};
  std::string key(state_->select_key.text(0));
  state_->select_key.reset();
  return key;
}

std::optional<Number> Ledger::find_intake(std::string_view name) {
  if (const auto at = state_->intakes.find(name); at != state_->intakes.end()) return at->second;
  if (!state_->ready(state_->select_intake, "SELECT id FROM intake WHERE name = ?")) return std::nullopt;
  auto row = state_->select_intake.start().bind(name).step();
  if (!row || !*row) return std::nullopt;
  const Number id = state_->select_intake.number(0);
  state_->select_intake.reset();
  return id;
}

std::optional<Number> Ledger::find_outlet(std::string_view name) {
  if (!state_->ready(state_->select_outlet, "SELECT id FROM outlet WHERE name = ?")) return std::nullopt;
  auto row = state_->select_outlet.start().bind(name).step();
  if (!row || !*row) return std::nullopt;
  const Number id = state_->select_outlet.number(0);
  state_->select_outlet.reset();
  return id;
}

bool Ledger::knows_document(Number intake, const base::Digest& digest) {
  if (!state_->ready(state_->select_known,
                     "SELECT 1 FROM document WHERE digest = ? AND complete = 1 AND intake = ? LIMIT 1")) {
    return false;
  }
  auto row = state_->select_known.start()
                 .bind_blob({reinterpret_cast<const char*>(digest.data()), digest.size()})
                 .bind(intake)
                 .step();
  const bool known = row && *row;
  state_->select_known.reset();
  return known;
}

std::optional<model::FilePosition> Ledger::position(Number intake, std::string_view name) {
  if (!state_->ready(state_->select_position,
                     "SELECT size, mtime_ns, ctime_ns, offset, prefix, resume FROM file_position "
                     "WHERE intake = ? AND name = ?")) {
    return std::nullopt;
  }
  Statement& select = state_->select_position;
  auto row = select.start().bind(intake).bind(name).step();
  if (!row || !*row) return std::nullopt;
  model::FilePosition p;
  p.name = name;
  p.size = static_cast<uint64_t>(select.number(0));
  p.mtime_ns = select.number(1);
  p.ctime_ns = select.number(2);
  p.offset = static_cast<uint64_t>(select.number(3));
  const std::string_view prefix = select.blob(4);
  if (prefix.size() == p.prefix.size()) std::copy(prefix.begin(), prefix.end(), p.prefix.begin());
  p.resume = select.blob(5);
  select.reset();
  return p;
}

Result<std::vector<StoredReading>> Ledger::readings_of(Number subject, base::Instant from, base::Instant to) {
  GIRDLE_READY(select_readings, "SELECT " GIRDLE_READING_COLUMNS
                                " FROM reading r WHERE r.subject = ?1 AND r.measured_at BETWEEN ?2 AND ?3 "
                                "UNION ALL SELECT " GIRDLE_READING_COLUMNS
                                " FROM reading r WHERE r.subject = ?1 AND r.measured_at > ?3 AND EXISTS (SELECT 1 FROM "
                                "reading f WHERE f.id = r.pair AND f.measured_at BETWEEN ?2 AND ?3) "
                                "ORDER BY measured_at, content");
  std::vector<StoredReading> readings;
  Statement& select = state_->select_readings;
  select.start().bind(subject).bind(to_millis(from)).bind(to_millis(to));
  auto done = for_rows(select, [&](const Statement& row) { row_reading(row, 0, readings.emplace_back()); });
  if (!done) return done.error();
  for (StoredReading& r : readings) r.reading.instrument = instrument_serial(r.instrument);
  return readings;
}

Result<std::optional<StoredReading>> Ledger::reading(Number id) {
  GIRDLE_READY(select_reading, "SELECT " GIRDLE_READING_COLUMNS " FROM reading r WHERE r.id = ?");
  Statement& select = state_->select_reading;
  auto row = select.start().bind(id).step();
  if (!row) return row.error();
  if (!*row) return std::optional<StoredReading>();
  StoredReading reading;
  row_reading(select, 0, reading);
  select.reset();
  reading.reading.instrument = instrument_serial(reading.instrument);
  return std::optional<StoredReading>(std::move(reading));
}

Result<std::vector<StoredReading>> Ledger::near_readings(Number instrument, base::Instant from, base::Instant to) {
  GIRDLE_READY(select_near, "SELECT " GIRDLE_READING_COLUMNS
                            " FROM reading r WHERE r.instrument = ? AND r.near = 1 AND r.measured_at BETWEEN ? AND ? "
                            "ORDER BY r.measured_at, r.content");
  std::vector<StoredReading> readings;
  Statement& select = state_->select_near;
  select.start().bind(instrument).bind(to_millis(from)).bind(to_millis(to));
  auto done = for_rows(select, [&](const Statement& row) { row_reading(row, 0, readings.emplace_back()); });
  if (!done) return done.error();
  const std::string serial = instrument_serial(instrument);
  for (StoredReading& r : readings) r.reading.instrument = serial;
  return readings;
}

Result<std::vector<model::Scan>> Ledger::scans(std::string_view bench, base::Instant from, base::Instant to) {
  GIRDLE_READY(select_scans,
               "SELECT scanned_at, stock, position FROM scan WHERE bench = ? AND scanned_at BETWEEN ? AND ?");
  std::vector<model::Scan> scans;
  Statement& select = state_->select_scans;
  select.start().bind(bench).bind(to_millis(from)).bind(to_millis(to));
  auto done = for_rows(select, [&](const Statement& row) {
    model::Scan scan;
    scan.bench = bench;
    scan.scanned_at = from_millis(row.number(0));
    scan.stock_number = row.text(1);
    scan.position = row.text(2);
    scans.push_back(std::move(scan));
  });
  if (!done) return done.error();
  return scans;
}

Result<std::vector<StoredDeclaration>> Ledger::declarations_of(Number subject) {
  GIRDLE_READY(select_declarations, "SELECT " GIRDLE_DECLARATION_COLUMNS "WHERE d.subject = ?");
  std::vector<StoredDeclaration> declarations;
  Statement& select = state_->select_declarations;
  select.start().bind(subject);
  auto done = for_rows(select, [&](const Statement& row) { row_declaration(row, 0, declarations.emplace_back()); });
  if (!done) return done.error();
  return declarations;
}

int64_t Ledger::count_receipts(ReceiptKind kind, Number id) {
  if (!state_->ready(state_->count_receipts,
                     "SELECT count(*) FROM receipt WHERE kind = ?1 AND first > ?2 - 1024 AND first <= ?2 "
                     "AND first + count > ?2")) {
    return 0;
  }
  auto row = state_->count_receipts.start().bind(static_cast<int64_t>(kind)).bind(id).step();
  const int64_t count = row && *row ? state_->count_receipts.number(0) : 0;
  state_->count_receipts.reset();
  return count;
}

Result<Number> Ledger::receipts_end(ReceiptKind kind) {
  GIRDLE_READY(select_receipts_end, "SELECT coalesce(max(first), -1024) + 1024 FROM receipt WHERE kind = ?");
  auto row = state_->select_receipts_end.start().bind(static_cast<int64_t>(kind)).step();
  if (!row) return row.error();
  const Number end = *row ? state_->select_receipts_end.number(0) : 0;
  state_->select_receipts_end.reset();
  return end;
}

Result<std::vector<Receipt>> Ledger::receipts_of(ReceiptKind kind, Number id) {
  GIRDLE_READY(select_receipts,
               "SELECT r.document, r.came_at, d.name, i.name, d.digest, r.offset FROM receipt r JOIN document d ON d.id = r.document "
               "JOIN intake i ON i.id = d.intake WHERE r.kind = ?1 AND r.first > ?2 - 1024 AND r.first <= ?2 "
               "AND r.first + r.count > ?2 ORDER BY r.came_at");
  std::vector<Receipt> receipts;
  Statement& select = state_->select_receipts;
  select.start().bind(static_cast<int64_t>(kind)).bind(id);
  auto done = for_rows(select, [&](const Statement& row) {
    receipts.push_back({row.number(0), first_eight(row.blob(4)), static_cast<uint64_t>(row.number(5)),
                        std::string(row.text(3)), std::string(row.text(2)), from_millis(row.number(1))});
  });
  if (!done) return done.error();
  return receipts;
}

Result<std::vector<Number>> Ledger::duplicate_intakes(Number reading) {
  GIRDLE_READY(select_duplicate_intakes,
               "SELECT DISTINCT d.intake FROM receipt r JOIN document d ON d.id = r.document WHERE r.kind = ?1 "
               "AND r.first > ?2 - 1024 AND r.first <= ?2 AND r.first + r.count > ?2 ORDER BY 1");
  std::vector<Number> intakes;
  Statement& select = state_->select_duplicate_intakes;
  select.start().bind(static_cast<int64_t>(ReceiptKind::kReading)).bind(reading);
  auto done = for_rows(select, [&](const Statement& row) { intakes.push_back(row.number(0)); });
  if (!done) return done.error();
  return intakes;
}

Result<std::vector<CaseRow>> Ledger::cases_of(Number subject) {
  GIRDLE_READY(select_cases, "SELECT * FROM cases WHERE number BETWEEN ? AND ? ORDER BY number");
  std::vector<CaseRow> cases;
  Statement& select = state_->select_cases;
  select.start().bind(first_case_of(subject)).bind(first_case_of(subject) + 0xffff);
  auto done = for_rows(select, [&](const Statement& row) { cases.push_back(row_case(row, 0)); });
  if (!done) return done.error();
  return cases;
}

Result<std::optional<OutcomeRow>> Ledger::outcome(Number case_number, int64_t sequence) {
  GIRDLE_READY(select_outcome, "SELECT * FROM outcome WHERE case_number = ? AND sequence = ?");
  Statement& select = state_->select_outcome;
  auto row = select.start().bind(case_number).bind(sequence).step();
  if (!row) return row.error();
  if (!*row) return std::optional<OutcomeRow>();
  OutcomeRow outcome;
  auto read = row_outcome(select, 0, outcome);
  select.reset();
  if (read) read = read_hand(outcome);
  if (!read) return read.error();
  return std::optional<OutcomeRow>(std::move(outcome));
}

std::optional<Number> Ledger::find_house(std::string_view digest) {
  Statement select;
  if (!select.prepare(state_->database, "SELECT id FROM house WHERE digest = ?")) return std::nullopt;
  auto row = select.start().bind(digest).step();
  if (!row || !*row) return std::nullopt;
  return select.number(0);
}

Result<std::optional<HouseRow>> Ledger::house_row(Number house) {
  GIRDLE_READY(select_house_row, "SELECT name, version, digest, rules, since FROM house WHERE id = ?");
  Statement& select = state_->select_house_row;
  auto row = select.start().bind(house).step();
  if (!row) return row.error();
  if (!*row) return std::optional<HouseRow>();
  HouseRow found;
  found.number = house;
  found.stamp = row_stamp(select, 0);
  found.rules = select.text(3);
  found.since = from_millis(select.number(4));
  select.reset();
  return std::optional<HouseRow>(std::move(found));
}

Result<std::optional<Activation>> Ledger::last_activation() {
  Statement select;
  auto ready = select.prepare(state_->database,
                              "SELECT " GIRDLE_ACTIVATION_COLUMNS " FROM activation a ORDER BY a.id DESC LIMIT 1");
  if (!ready) return ready.error();
  auto row = select.start().step();
  if (!row) return row.error();
  if (!*row) return std::optional<Activation>();
  return std::optional<Activation>(row_activation(select, 0));
}

Result<void> Ledger::each_activation(const std::function<void(const Activation&, const model::PolicyStamp&)>& each) {
  Statement select;
  auto ready = select.prepare(state_->database,
                              "SELECT " GIRDLE_ACTIVATION_COLUMNS ", h.name, h.version, h.digest "
                              "FROM activation a JOIN house h ON h.id = a.house ORDER BY a.id");
  if (!ready) return ready;
  return for_rows(select.start(), [&](const Statement& row) {
    each(row_activation(row, 0), row_stamp(row, kActivationColumns));
  });
}

Result<std::vector<ShadowRow>> Ledger::shadows_of(Number case_number) {
  GIRDLE_READY(select_shadows, "SELECT * FROM shadow WHERE case_number = ? ORDER BY sequence, house");
  std::vector<ShadowRow> shadows;
  auto done = for_rows(state_->select_shadows.start().bind(case_number),
                       [&](const Statement& row) { shadows.push_back(row_shadow(row, 0)); });
  if (!done) return done.error();
  return shadows;
}

Result<void> Ledger::each_last_shadow(Number house,
                                      const std::function<void(const ShadowRow&, const OutcomeRow&)>& each) {
  Statement select;
  auto ready = select.prepare(
      state_->database,
      "SELECT s.*, o.* FROM shadow s LEFT JOIN outcome o ON o.case_number = s.case_number AND o.sequence = s.sequence "
      "WHERE s.house = ?1 AND NOT EXISTS (SELECT 1 FROM shadow t WHERE t.case_number = s.case_number "
      "AND t.sequence > s.sequence AND t.house = ?1) ORDER BY s.case_number");
  if (!ready) return ready;
  return for_rows(select.start().bind(house), [&](const Statement& row) -> Result<void> {
    const ShadowRow shadow = row_shadow(row, 0);
    if (row.is_null(kShadowColumns)) {
      return row.damage("case " + std::to_string(shadow.case_number) + " has no outcome " +
                        std::to_string(shadow.sequence) + ", of which a policy in the shadow says something");
    }
    OutcomeRow outcome;
    auto done = row_outcome(row, kShadowColumns, outcome);
    if (done) done = read_hand(outcome);
    if (!done) return done;
    each(shadow, outcome);
    return {};
  });
}

Result<void> Ledger::at_one_moment(const std::function<Result<void>()>& read) {
  OneMoment moment(state_->database);
  if (auto done = moment.begin(); !done) return done;
  return read();
}

// Houses never change. One that was made in a transaction that is rolled back is forgotten with it.
Result<model::PolicyStamp> Ledger::stamp_of(Number house) {
  if (const auto at = state_->stamps.find(house); at != state_->stamps.end()) return at->second;
  GIRDLE_READY(select_house_by_id, "SELECT name, version, digest FROM house WHERE id = ?");
  auto row = state_->select_house_by_id.start().bind(house).step();
  if (!row) return row.error();
  if (!*row) return model::PolicyStamp();
  model::PolicyStamp stamp = row_stamp(state_->select_house_by_id, 0);
  state_->select_house_by_id.reset();
  return state_->stamps[house] = std::move(stamp);
}

Result<model::Outcome> Ledger::full_outcome(Number case_number, int64_t sequence, std::string_view site) {
  auto stored = outcome(case_number, sequence);
  if (!stored) return stored.error();
  if (!*stored) return base::input_error("ledger: case " + case_id(case_number) + " has no outcome " + std::to_string(sequence));
  const OutcomeRow& row = **stored;
  model::Outcome full;
  full.case_id = case_id(case_number);
  full.sequence = sequence;
  full.site = site;
  full.kind = row.kind;
  split_key(subject_key(subject_of(case_number)), full.stock_number, full.position);
  full.decision = row.decision;
  if (row.hand) full.by_hand = model::ByHand{row.hand->who, row.hand->why};
  full.previous = row.previous;
  full.house = row.house;
  full.duplicates = row.duplicates;
  if (row.merged_into != 0) full.merged_into = case_id(row.merged_into);
  full.decided_at = row.decided_at;

  auto stamp = stamp_of(row.house);
  if (!stamp) return stamp.error();
  full.policy = std::move(stamp).value();
  if (row.declaration != 0) {
    GIRDLE_READY(select_declaration_by_id, "SELECT " GIRDLE_DECLARATION_COLUMNS "WHERE d.id = ?");
    auto declared = state_->select_declaration_by_id.start().bind(row.declaration).step();
    if (!declared) return declared.error();
    if (*declared) {
      StoredDeclaration declaration;
      row_declaration(state_->select_declaration_by_id, 0, declaration);
      full.declared = std::move(declaration.declaration);
      state_->select_declaration_by_id.reset();
    }
  }
  return full;
}

std::string Ledger::document_name(Number document) {
  if (!state_->ready(state_->select_document, "SELECT name FROM document WHERE id = ?")) return {};
  auto row = state_->select_document.start().bind(document).step();
  if (!row || !*row) return {};
  std::string name(state_->select_document.text(0));
  state_->select_document.reset();
  return name;
}

Result<Receipt> Ledger::arrival(Number document) {
  GIRDLE_READY(select_arrival,
               "SELECT i.name, d.name, d.came_at FROM document d JOIN intake i ON i.id = d.intake WHERE d.id = ?");
  Statement& select = state_->select_arrival;
  auto row = select.start().bind(document).step();
  if (!row) return row.error();
  if (!*row) return base::input_error("ledger: it has no document " + std::to_string(document));
  Receipt arrival;
  arrival.document = document;
  arrival.intake = select.text(0);
  arrival.name = select.text(1);
  arrival.came_at = from_millis(select.number(2));
  select.reset();
  return arrival;
}

namespace {
template <class Known>
std::string cached_name(Database& database, Known& known, const char* sql, Number id) {
  if (const auto at = known.find(id); at != known.end()) return at->second;
  Statement select;
  if (!select.prepare(database, sql)) return {};
  auto row = select.start().bind(id).step();
  if (!row || !*row) return {};
  return known[id] = std::string(select.text(0));
}
}  // namespace

std::string Ledger::intake_name(Number intake) {
  return cached_name(state_->database, state_->intake_names, "SELECT name FROM intake WHERE id = ?", intake);
}

std::string Ledger::instrument_serial(Number instrument) {
  return cached_name(state_->database, state_->instrument_serials, "SELECT serial FROM instrument WHERE id = ?",
                     instrument);
}

Result<void> Ledger::each_case(const Filter& filter, const std::function<void(const CaseLine&)>& each) {
  Statement select;
  auto ready = select.prepare(
      state_->database,
      "SELECT s.key, c.*, o.* FROM cases c JOIN subject s ON s.id = c.number >> 16 "
      "JOIN outcome o ON o.case_number = c.number AND o.sequence = c.sequence "
      "WHERE (?1 = '' OR s.key BETWEEN ?1 AND ?2) AND o.decided_at BETWEEN ?3 AND ?4 AND (?5 < 0 OR o.disposition = ?5) "
      "ORDER BY o.decided_at DESC, c.number DESC LIMIT ?6");
  if (!ready) return ready;
  const Pattern key = pattern_of(filter.stock_number);
  const auto disposition = model::disposition_of(filter.word);
  select.start().bind(std::string_view(key.from)).bind(std::string_view(key.to));
  select.bind(to_millis(filter.since)).bind(to_millis(filter.until));
  select.bind(disposition ? static_cast<int64_t>(*disposition) : int64_t{-1}).bind(filter.limit);
  return for_rows(select, [&](const Statement& row) -> Result<void> {
    CaseLine line;
    line.key = row.text(0);
    line.row = row_case(row, 1);
    auto done = row_outcome(row, 7, line.outcome);
    if (done) done = read_hand(line.outcome);
    if (!done) return done;
    line.case_id = case_id(line.row.number);
    each(line);
    return {};
  });
}

Result<void> Ledger::each_reading(const Filter& filter, const std::function<void(const StoredReading&)>& each) {
  Statement select;
  auto ready = select.prepare(
      state_->database, "SELECT " GIRDLE_READING_COLUMNS
                        ", coalesce(s.key, '') FROM reading r LEFT JOIN subject s ON s.id = r.subject "
                        "WHERE (?1 = '' OR s.key BETWEEN ?1 AND ?2) AND r.measured_at BETWEEN ?3 AND ?4 "
                        "AND (?5 = 0 OR r.instrument = ?5) AND (?6 = 0 OR r.intake = ?6) AND (?7 < 0 OR r.finding = ?7) "
                        "ORDER BY r.id DESC LIMIT ?8");
  if (!ready) return ready;
  const auto number_of = [&](const char* sql, const std::string& name) -> int64_t {
    if (name.empty()) return 0;
    Statement find;
    if (!find.prepare(state_->database, sql)) return -1;
    auto row = find.start().bind(std::string_view(name)).step();
    return row && *row ? find.number(0) : -1;
  };
  const Pattern key = pattern_of(filter.stock_number);
  const auto finding = model::finding_of(filter.word);
  select.start().bind(std::string_view(key.from)).bind(std::string_view(key.to));
  select.bind(to_millis(filter.since)).bind(to_millis(filter.until));
  select.bind(number_of("SELECT id FROM instrument WHERE serial = ?", filter.instrument));
  select.bind(number_of("SELECT id FROM intake WHERE name = ?", filter.intake));
  select.bind(finding ? static_cast<int64_t>(*finding) : int64_t{-1}).bind(filter.limit);
  return for_rows(select, [&](const Statement& row) {
    StoredReading stored;
    row_reading(row, 0, stored);
    stored.reading.instrument = instrument_serial(stored.instrument);
    // What the record did not give, the binding did: people look for the key.
    if (stored.reading.stock_number.empty()) split_key(row.text(kReadingColumns), stored.reading.stock_number, stored.reading.position);
    each(stored);
  });
}

Result<void> Ledger::each_aside(const Filter& filter, const std::function<void(const AsideRow&)>& each) {
  Statement select;
  auto ready = select.prepare(
      state_->database, std::string("SELECT " GIRDLE_ASIDE_COLUMNS "WHERE (?1 = '' OR i.name = ?1) AND a.at BETWEEN ?2 AND ?3 ") +
                            (filter.open ? "AND a.settled_at IS NULL " : "") + "ORDER BY a.id DESC LIMIT ?4");
  if (!ready) return ready;
  select.start().bind(std::string_view(filter.intake)).bind(to_millis(filter.since)).bind(to_millis(filter.until));
  select.bind(filter.limit);
  return for_rows(select, [&](const Statement& row) { each(row_aside(row, 0)); });
}

Result<Ledger::Counts> Ledger::counts() {
  Counts counts;
  const std::pair<int64_t Counts::*, const char*> queries[] = {
      {&Counts::readings, "SELECT count(*) FROM reading"},
      {&Counts::receipts, "SELECT coalesce(sum(count), 0) FROM receipt"},
      {&Counts::declarations, "SELECT count(*) FROM declaration"},
      {&Counts::asides, "SELECT count(*) FROM aside"},
      {&Counts::cases, "SELECT count(*) FROM cases"},
      {&Counts::outcomes, "SELECT count(*) FROM outcome"},
      {&Counts::waiting, "SELECT count(*) FROM delivery WHERE state = 0"},
      {&Counts::sent, "SELECT count(*) FROM delivery WHERE state = 1"},
      {&Counts::parked, "SELECT count(*) FROM delivery WHERE state = 2"},
      {&Counts::skipped, "SELECT count(*) FROM delivery WHERE state = 3"},
  };
  for (const auto& [member, sql] : queries) {
    auto number = state_->database.number(sql);
    if (!number) return number.error();
    counts.*member = *number;
  }
  return counts;
}

}  // namespace girdle::ledger
