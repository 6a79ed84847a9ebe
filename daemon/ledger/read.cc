// Reading the ledger, by number and by name.
#include <simdjson.h>

#include <cstring>

#include "ledger/state.h"

namespace girdle::ledger {
namespace {

using base::from_millis;
using base::Result;
using base::to_millis;

// The columns of a reading, in the order of row_reading().
#define GIRDLE_READING_COLUMNS                                                                                         \
  "r.id, r.subject, r.instrument, r.slot, r.content, r.measured_at, r.finding, r.live, r.pair, r.document, r.intake, " \
  "r.offset, r.length, r.line, r.came_at, coalesce(r.came_offset, r.offset), r.stock, r.position, r.kind, "            \
  "r.diamond_type, r.confidence, r.carat, r.color, r.shape, r.table_mm, r.length_mm, r.width_mm, r.depth_mm, "         \
  "r.temperature_c, r.humidity_pct, r.operator, r.note, r.time_rule, r.extra, r.defaults"
constexpr int kReadingColumns = 35;

template <class Enum>
std::optional<Enum> word(const Statement& row, int column) {
  if (row.is_null(column)) return std::nullopt;
  return static_cast<Enum>(row.number(column));
}

std::vector<std::pair<std::string, std::string>> parse_extra(std::string_view json) {
  std::vector<std::pair<std::string, std::string>> extra;
  if (json.empty()) return extra;
  simdjson::dom::parser parser;
  simdjson::dom::object object;
  if (parser.parse(json.data(), json.size()).get(object) != simdjson::SUCCESS) return extra;
  for (const auto field : object) {
    std::string_view value;
    if (field.value.get(value) == simdjson::SUCCESS) extra.emplace_back(field.key, value);
  }
  return extra;
}

std::vector<std::string> parse_names(std::string_view json) {
  std::vector<std::string> names;
  if (json.empty()) return names;
  simdjson::dom::parser parser;
  simdjson::dom::array array;
  if (parser.parse(json.data(), json.size()).get(array) != simdjson::SUCCESS) return names;
  for (const auto name : array) {
    std::string_view text;
    if (name.get(text) == simdjson::SUCCESS) names.emplace_back(text);
  }
  return names;
}

int64_t first_eight(std::string_view digest) {
  int64_t number = 0;
  if (digest.size() >= sizeof number) std::memcpy(&number, digest.data(), sizeof number);
  return number;
}

StoredReading row_reading(const Statement& row) {
  StoredReading s;
  s.id = row.number(0);
  s.subject = row.number(1);
  s.instrument = row.number(2);
  s.content = row.number(4);
  s.live = row.number(7) != 0;
  s.pair = row.number(8);
  s.document = row.number(9);
  s.intake = row.number(10);
  s.came_at = from_millis(row.number(14));
  s.came_offset = static_cast<uint64_t>(row.number(15));
  model::Reading& r = s.reading;
  if (row.type(3) != SQLITE_BLOB) r.run = row.text(3);
  r.measured_at = from_millis(row.number(5));
  r.finding = static_cast<model::Finding>(row.number(6));
  r.place = {static_cast<uint64_t>(row.number(11)), static_cast<uint64_t>(row.number(12)),
             static_cast<uint32_t>(row.number(13))};
  r.stock_number = row.text(16);
  r.position = row.text(17);
  r.subject_kind = word<model::SubjectKind>(row, 18);
  r.diamond_type = word<model::DiamondType>(row, 19);
  r.confidence = row.decimal(20);
  r.carat = row.decimal(21);
  r.color = row.text(22);
  r.shape = row.text(23);
  r.table_mm = row.decimal(24);
  r.length_mm = row.decimal(25);
  r.width_mm = row.decimal(26);
  r.depth_mm = row.decimal(27);
  r.temperature_c = row.decimal(28);
  r.humidity_pct = row.decimal(29);
  r.operator_name = row.text(30);
  r.note = row.text(31);
  r.time_rule = row.text(32);
  r.extra = parse_extra(row.text(33));
  r.defaults = parse_names(row.text(34));
  return s;
}

constexpr const char* kDeclarationColumns =
    "d.id, d.content, d.came_at, l.digest, d.offset, d.length, d.line, d.declared_at, "
    "d.identity, d.kind, d.color, d.shape, d.mount, d.channel, d.carat, d.table_mm, d.length_mm, d.width_mm, "
    "d.depth_mm, d.stones, d.value, d.extra, s.key, d.document FROM declaration d JOIN subject s ON s.id = d.subject "
    "JOIN document l ON l.id = d.document WHERE ";

void split_key(std::string_view key, std::string& stock, std::string& position) {
  const size_t mark = key.rfind('#');
  stock = key.substr(0, mark);
  position = mark == std::string_view::npos ? std::string_view() : key.substr(mark + 1);
}

StoredDeclaration row_declaration(const Statement& row) {
  StoredDeclaration s;
  s.id = row.number(0);
  s.content = row.number(1);
  s.came_at = from_millis(row.number(2));
  s.list = first_eight(row.blob(3));
  model::Declaration& d = s.declaration;
  d.place = {static_cast<uint64_t>(row.number(4)), static_cast<uint64_t>(row.number(5)),
             static_cast<uint32_t>(row.number(6))};
  if (!row.is_null(7)) d.declared_at = from_millis(row.number(7));
  d.identity = word<model::Finding>(row, 8);
  d.subject_kind = word<model::SubjectKind>(row, 9);
  d.color = row.text(10);
  d.shape = row.text(11);
  d.mount = row.text(12);
  d.channel = row.text(13);
  d.carat = row.decimal(14);
  d.table_mm = row.decimal(15);
  d.length_mm = row.decimal(16);
  d.width_mm = row.decimal(17);
  d.depth_mm = row.decimal(18);
  d.stones = row.decimal(19);
  d.value = row.decimal(20);
  d.extra = parse_extra(row.text(21));
  split_key(row.text(22), d.stock_number, d.position);
  s.document = row.number(23);
  return s;
}

CaseRow row_case(const Statement& row, int at) {
  CaseRow c;
  c.number = row.number(at);
  c.first_at = from_millis(row.number(at + 1));
  c.last_at = from_millis(row.number(at + 2));
  c.state = static_cast<CaseState>(row.number(at + 3));
  c.merged_into = row.number(at + 4);
  c.sequence = row.number(at + 5);
  return c;
}

OutcomeRow row_outcome(const Statement& row, int at) {
  OutcomeRow o;
  o.case_number = row.number(at);
  o.sequence = row.number(at + 1);
  o.decision.disposition = static_cast<model::Disposition>(row.number(at + 2));
  o.previous = word<model::Disposition>(row, at + 3);
  model::Evidence& e = o.decision.evidence;
  e.finding = static_cast<model::Evidence::Common>(row.number(at + 4));
  o.decision.reason = row.text(at + 5);
  o.decision.rule = static_cast<int>(row.number(at + 6));
  e.valid = static_cast<int>(row.number(at + 7));
  e.voids = static_cast<int>(row.number(at + 8));
  e.discounted = static_cast<int>(row.number(at + 9));
  e.required = static_cast<int>(row.number(at + 10));
  o.duplicates = row.number(at + 11);
  e.scope = static_cast<model::Scope>(row.number(at + 12));
  e.instrument = static_cast<model::Fitness>(row.number(at + 13));
  e.declared = word<model::Finding>(row, at + 14);
  o.declaration = row.number(at + 15);
  o.kind = static_cast<model::SubjectKind>(row.number(at + 16));
  o.merged_into = row.number(at + 17);
  o.house = row.number(at + 18);
  o.decided_at = from_millis(row.number(at + 19));
  return o;
}

DeliveryRow row_delivery(const Statement& row, int at) {
  DeliveryRow d;
  d.id = row.number(at);
  d.outlet = row.number(at + 1);
  d.case_number = row.number(at + 2);
  d.sequence = row.number(at + 3);
  d.state = static_cast<model::DeliveryState>(row.number(at + 4));
  d.attempts = row.number(at + 5);
  if (!row.is_null(at + 6)) d.due = from_millis(row.number(at + 6));
  d.status = static_cast<int>(row.number(at + 7));
  d.note = row.text(at + 8);
  d.changed_at = from_millis(row.number(at + 9));
  return d;
}

// Calls `each` for every row that is left of a started statement.
template <class Each>
Result<void> for_rows(Statement& statement, Each each) {
  for (;;) {
    auto row = statement.step();
    if (!row) return row.error();
    if (!*row) return {};
    each(statement);
  }
}

// "R10*" asks for a beginning; anything else for the whole text.
struct Pattern {
  std::string from, to;
};
Pattern pattern_of(const std::string& text) {
  if (!text.ends_with('*')) return {text, text};
  std::string from = text.substr(0, text.size() - 1);
  return {from, from + "\xF4\x8F\xBF\xBF"};
}

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

std::string Ledger::outlet_closed(Number outlet) {
  if (!state_->ready(state_->select_closed, "SELECT closed FROM outlet WHERE id = ?")) return {};
  auto row = state_->select_closed.start().bind(outlet).step();
  if (!row || !*row) return {};
  std::string reason(state_->select_closed.text(0));
  state_->select_closed.reset();
  return reason;
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
  auto done = for_rows(select, [&](const Statement& row) { readings.push_back(row_reading(row)); });
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
  StoredReading reading = row_reading(select);
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
  auto done = for_rows(select, [&](const Statement& row) { readings.push_back(row_reading(row)); });
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
  static const std::string kSql = std::string("SELECT ") + kDeclarationColumns + "d.subject = ?";
  GIRDLE_READY(select_declarations, kSql.c_str());
  std::vector<StoredDeclaration> declarations;
  Statement& select = state_->select_declarations;
  select.start().bind(subject);
  auto done = for_rows(select, [&](const Statement& row) { declarations.push_back(row_declaration(row)); });
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
  OutcomeRow outcome = row_outcome(select, 0);
  select.reset();
  return std::optional<OutcomeRow>(std::move(outcome));
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
  full.previous = row.previous;
  full.duplicates = row.duplicates;
  if (row.merged_into != 0) full.merged_into = case_id(row.merged_into);
  full.decided_at = row.decided_at;

  GIRDLE_READY(select_house_by_id, "SELECT name, version, digest FROM house WHERE id = ?");
  auto house = state_->select_house_by_id.start().bind(row.house).step();
  if (!house) return house.error();
  if (*house) {
    full.policy.name = state_->select_house_by_id.text(0);
    full.policy.version = state_->select_house_by_id.text(1);
    full.policy.digest = state_->select_house_by_id.text(2);
    state_->select_house_by_id.reset();
  }
  if (row.declaration != 0) {
    static const std::string kSql = std::string("SELECT ") + kDeclarationColumns + "d.id = ?";
    GIRDLE_READY(select_declaration_by_id, kSql.c_str());
    auto declared = state_->select_declaration_by_id.start().bind(row.declaration).step();
    if (!declared) return declared.error();
    if (*declared) {
      full.declared = row_declaration(state_->select_declaration_by_id).declaration;
      state_->select_declaration_by_id.reset();
    }
  }
  return full;
}

Result<std::vector<DeliveryRow>> Ledger::due_deliveries(Number outlet, base::Instant now, size_t limit,
                                                        const std::vector<Number>& except, base::Instant* next_due) {
  GIRDLE_READY(select_due,
               "SELECT * FROM delivery WHERE outlet = ?1 AND state = 0 AND due_at IS NOT NULL AND due_at <= ?2 "
               "ORDER BY due_at LIMIT ?3");
  GIRDLE_READY(select_next_due,
               "SELECT min(due_at) FROM delivery WHERE outlet = ?1 AND state = 0 AND due_at IS NOT NULL AND due_at > ?2");
  std::vector<DeliveryRow> rows;
  Statement& select = state_->select_due;
  select.start().bind(outlet).bind(to_millis(now)).bind(static_cast<int64_t>(limit + except.size() + 1));
  // One more than asked for: heads beyond the limit are due as well, and say so.
  auto next_head = base::Instant::max();
  auto done = for_rows(select, [&](const Statement& row) {
    const Number id = row.number(0);
    if (std::find(except.begin(), except.end(), id) != except.end()) return;
    if (rows.size() < limit) {
      rows.push_back(row_delivery(row, 0));
    } else {
      next_head = std::min(next_head, *row_delivery(row, 0).due);
    }
  });
  if (!done) return done.error();
  auto next = state_->select_next_due.start().bind(outlet).bind(to_millis(now)).step();
  if (!next) return next.error();
  *next_due = *next && !state_->select_next_due.is_null(0) ? from_millis(state_->select_next_due.number(0))
                                                          : base::Instant::max();
  state_->select_next_due.reset();
  *next_due = std::min(*next_due, next_head);
  return rows;
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

bool Ledger::has_waiting(Number outlet) {
  if (!state_->ready(state_->select_any_waiting,
                     "SELECT 1 FROM delivery WHERE outlet = ? AND state = 0 AND due_at IS NOT NULL LIMIT 1")) {
    return false;
  }
  auto row = state_->select_any_waiting.start().bind(outlet).step();
  const bool any = row && *row;
  state_->select_any_waiting.reset();
  return any;
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

Result<int64_t> Ledger::count_waiting() {
  return state_->database.number("SELECT count(*) FROM delivery WHERE state = 0");
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
  return for_rows(select, [&](const Statement& row) {
    CaseLine line;
    line.key = row.text(0);
    line.row = row_case(row, 1);
    line.outcome = row_outcome(row, 7);
    line.case_id = case_id(line.row.number);
    each(line);
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
    StoredReading stored = row_reading(row);
    stored.reading.instrument = instrument_serial(stored.instrument);
    // What the record did not give, the binding did: people look for the key.
    if (stored.reading.stock_number.empty()) split_key(row.text(kReadingColumns), stored.reading.stock_number, stored.reading.position);
    each(stored);
  });
}

Result<void> Ledger::each_aside(const Filter& filter, const std::function<void(const AsideRow&)>& each) {
  Statement select;
  auto ready = select.prepare(
      state_->database,
      "SELECT a.id, i.name, d.name, a.at, a.offset, a.length, a.line, a.reason, a.bytes, a.truncated FROM aside a "
      "JOIN intake i ON i.id = a.intake JOIN document d ON d.id = a.document "
      "WHERE (?1 = '' OR i.name = ?1) AND a.at BETWEEN ?2 AND ?3 ORDER BY a.id DESC LIMIT ?4");
  if (!ready) return ready;
  select.start().bind(std::string_view(filter.intake)).bind(to_millis(filter.since)).bind(to_millis(filter.until));
  select.bind(filter.limit);
  return for_rows(select, [&](const Statement& row) {
    AsideRow line;
    line.id = row.number(0);
    line.intake = row.text(1);
    line.document = row.text(2);
    line.at = from_millis(row.number(3));
    line.aside.place = {static_cast<uint64_t>(row.number(4)), static_cast<uint64_t>(row.number(5)),
                        static_cast<uint32_t>(row.number(6))};
    line.aside.reason = row.text(7);
    line.aside.bytes = row.blob(8);
    line.aside.truncated = row.number(9) != 0;
    each(line);
  });
}

Result<void> Ledger::each_delivery(
    const Filter& filter,
    const std::function<void(const DeliveryRow&, const std::string& outlet, const std::string& key)>& each) {
  Statement select;
  auto ready = select.prepare(state_->database,
                              "SELECT d.*, o.name, s.key FROM delivery d JOIN outlet o ON o.id = d.outlet "
                              "JOIN subject s ON s.id = d.case_number >> 16 WHERE (?1 = '' OR s.key BETWEEN ?1 AND ?2) "
                              "AND (?3 = '' OR o.name = ?3) AND (?4 < 0 OR d.state = ?4) "
                              "AND d.changed_at BETWEEN ?5 AND ?6 ORDER BY d.id DESC LIMIT ?7");
  if (!ready) return ready;
  int64_t state = -1;
  for (const auto candidate : {model::DeliveryState::kWaiting, model::DeliveryState::kSent, model::DeliveryState::kParked}) {
    if (model::text(candidate) == filter.word) state = static_cast<int64_t>(candidate);
  }
  const Pattern key = pattern_of(filter.stock_number);
  select.start().bind(std::string_view(key.from)).bind(std::string_view(key.to)).bind(std::string_view(filter.outlet));
  select.bind(state).bind(to_millis(filter.since)).bind(to_millis(filter.until)).bind(filter.limit);
  return for_rows(select, [&](const Statement& row) {
    each(row_delivery(row, 0), std::string(row.text(10)), std::string(row.text(11)));
  });
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
  };
  for (const auto& [member, sql] : queries) {
    auto number = state_->database.number(sql);
    if (!number) return number.error();
    counts.*member = *number;
  }
  return counts;
}

}  // namespace girdle::ledger
