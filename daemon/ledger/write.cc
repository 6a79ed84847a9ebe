// Everything that changes the ledger.
#include <algorithm>
#include <array>

#include "base/json.h"
#include "ledger/measured.h"
#include "ledger/state.h"

namespace girdle::ledger {
namespace {

using base::Result;
using base::to_millis;

// A run that is a plain whole number is stored as one: neighbours in time are neighbours in the index. Only the form
// that to_string() gives back counts, so that "007" stays a text.
std::optional<int64_t> whole_number(std::string_view run) {
  if (run.empty() || run.size() > 18 || (run[0] == '0' && run.size() > 1)) return std::nullopt;
  int64_t value = 0;
  for (const char c : run) {
    if (c < '0' || c > '9') return std::nullopt;
    value = value * 10 + (c - '0');
  }
  return value;
}

// What tells the readings of one instrument apart: the run or, without one, the time.
class Slot {
 public:
  explicit Slot(const model::Reading& reading) : number_(whole_number(reading.run)), text_(reading.run) {
    auto value = static_cast<uint64_t>(number_ ? *number_ : to_millis(reading.measured_at));
    for (size_t i = bytes_.size(); i-- > 0; value >>= 8) bytes_[i] = static_cast<char>(value);
  }

  void bind_to(Statement& statement) const {
    if (number_) {
      statement.bind(*number_);
    } else if (!text_.empty()) {
      statement.bind(text_);
    } else {
      statement.bind_blob({bytes_.data(), bytes_.size()});
    }
  }

  // Bytes that compare as SQLite orders slots: whole numbers (never negative), texts, times.
  void put_order(std::string& out) const {
    const bool is_text = !number_ && !text_.empty();
    out = number_ ? '0' : is_text ? '1' : '2';
    out += is_text ? text_ : std::string_view(bytes_.data(), bytes_.size());
  }

 private:
  std::optional<int64_t> number_;
  std::string_view text_;
  std::array<char, 8> bytes_;
};

std::string names_json(const std::vector<std::string>& names) {
  std::string out;
  if (names.empty()) return out;
  base::JsonWriter json(out);
  json.begin_array();
  for (const std::string& name : names) json.text(name);
  json.end_array();
  return out;
}

std::string extra_json(const std::vector<std::pair<std::string, std::string>>& extra) {
  std::string out;
  if (extra.empty()) return out;
  base::JsonWriter json(out);
  json.begin_object();
  for (const auto& [name, value] : extra) json.member(name, std::string_view(value));
  json.end_object();
  return out;
}

template <class Enum>
void bind_word(Statement& statement, const std::optional<Enum>& word) {
  if (word) {
    statement.bind(static_cast<int64_t>(*word));
  } else {
    statement.bind_null();
  }
}

std::string_view bytes_of(const base::Digest& digest) {
  return {reinterpret_cast<const char*>(digest.data()), digest.size()};
}

// The same bytes of a stored slot.
std::string stored_order(const Statement& row) {
  switch (row.type(0)) {
    case SQLITE_INTEGER: {
      std::string out = "0";
      const auto value = static_cast<uint64_t>(row.number(0));
      for (int shift = 56; shift >= 0; shift -= 8) out += static_cast<char>(value >> shift);
      return out;
    }
    case SQLITE_TEXT: return "1" + std::string(row.text(0));
    default: return "2" + std::string(row.blob(0));
  }
}

}  // namespace

// Records that come in the order of their runs need no look into the index.
Result<bool> Ledger::State::is_new_last(Number instrument, const std::string& slot_order) {
  const auto at = last_slots.find(instrument);
  if (at != last_slots.end()) return at->second < slot_order;
  if (auto done = ready(select_last_slot, "SELECT slot FROM reading WHERE instrument = ? ORDER BY slot DESC LIMIT 1");
      !done) {
    return done.error();
  }
  auto row = select_last_slot.start().bind(instrument).step();
  if (!row) return row.error();
  const std::string& last = last_slots[instrument] = *row ? stored_order(select_last_slot) : std::string();
  select_last_slot.reset();
  return last < slot_order;
}

Result<Number> Ledger::State::name_number(Statement& insert, const char* sql, NumberByText& known,
                                          std::string_view text) {
  if (const auto at = known.find(text); at != known.end()) return at->second;
  if (auto done = ready(insert, sql); !done) return done.error();
  auto row = insert.start().bind(text).step();
  if (!row) return row.error();
  const Number number = insert.number(0);
  insert.reset();
  known.emplace(text, number);
  return number;
}

Result<Number> Ledger::intake(std::string_view name) {
  return state_->name_number(state_->insert_intake,
                             "INSERT INTO intake (name) VALUES (?) ON CONFLICT (name) DO UPDATE SET name = name "
                             "RETURNING id",
                             state_->intakes, name);
}

Result<Number> Ledger::instrument(std::string_view serial) {
  return state_->name_number(state_->insert_instrument,
                             "INSERT INTO instrument (serial) VALUES (?) ON CONFLICT (serial) DO UPDATE SET "
                             "serial = serial RETURNING id",
                             state_->instruments, serial);
}

Result<Number> Ledger::outlet(std::string_view name) {
  return state_->name_number(state_->insert_outlet,
                             "INSERT INTO outlet (name) VALUES (?) ON CONFLICT (name) DO UPDATE SET name = name "
                             "RETURNING id",
                             state_->outlets, name);
}

Result<Number> Ledger::subject(std::string_view key, bool* fresh) {
  GIRDLE_READY(insert_subject, "INSERT INTO subject (key) VALUES (?) ON CONFLICT (key) DO NOTHING");
  if (auto done = state_->insert_subject.start().bind(key).run(); !done) return done.error();
  sqlite3* const handle = state_->database.handle();
  *fresh = sqlite3_changes(handle) > 0;
  if (*fresh) return sqlite3_last_insert_rowid(handle);
  const auto known = find_subject(key);
  if (!known) return state_->database.error("looking a subject up");
  return *known;
}

Result<Number> Ledger::house(const model::PolicyStamp& stamp, std::string_view text, base::Instant now) {
  GIRDLE_READY(insert_house,
               "INSERT INTO house (digest, name, version, rules, since) VALUES (?, ?, ?, ?, ?) "
               "ON CONFLICT (digest) DO UPDATE SET digest = digest RETURNING id");
  Statement& insert = state_->insert_house;
  auto row = insert.start()
                 .bind(std::string_view(stamp.digest))
                 .bind(std::string_view(stamp.name))
                 .bind(std::string_view(stamp.version))
                 .bind(text)
                 .bind(to_millis(now))
                 .step();
  if (!row) return row.error();
  const Number number = insert.number(0);
  insert.reset();
  return number;
}

Result<Number> Ledger::add_document(Number intake, const model::Document& document, base::Instant now) {
  GIRDLE_READY(insert_document,
               "INSERT INTO document (intake, name, digest, offset, size, came_at, taken_at) VALUES (?, ?, ?, ?, ?, ?, ?)");
  auto done = state_->insert_document.start()
                  .bind(intake)
                  .bind(std::string_view(document.name))
                  .bind_blob(bytes_of(document.digest))
                  .bind(static_cast<int64_t>(document.offset))
                  .bind(static_cast<int64_t>(document.size))
                  .bind(to_millis(document.came_at))
                  .bind(to_millis(now))
                  .run();
  if (!done) return done.error();
  return sqlite3_last_insert_rowid(state_->database.handle());
}

Result<void> Ledger::complete_document(Number document) {
  GIRDLE_READY(complete_document, "UPDATE document SET complete = 1 WHERE id = ?");
  return state_->complete_document.start().bind(document).run();
}

Result<void> Ledger::find_same(Number instrument, const model::Reading& reading, std::vector<Same>& out) {
  GIRDLE_READY(select_same,
               "SELECT id, content, intake, came_at, coalesce(came_offset, offset), document, offset FROM reading "
               "WHERE instrument = ? AND slot = ?");
  out.clear();
  const Slot slot(reading);
  slot.put_order(state_->scratch);
  auto is_new = state_->is_new_last(instrument, state_->scratch);
  if (!is_new) return is_new.error();
  if (*is_new) return {};
  Statement& select = state_->select_same;
  slot.bind_to(select.start().bind(instrument));
  for (;;) {
    auto row = select.step();
    if (!row) return row.error();
    if (!*row) return {};
    out.push_back({select.number(0), select.number(1), select.number(2), base::from_millis(select.number(3)),
                   static_cast<uint64_t>(select.number(4)), select.number(5), static_cast<uint64_t>(select.number(6))});
  }
}

Result<Number> Ledger::add_reading(const StoredReading& stored, bool near) {
  GIRDLE_READY(insert_reading,
               "INSERT INTO reading (subject, instrument, slot, content, measured_at, finding, live, pair, near, document, "
               "intake, offset, length, line, came_at, stock, position, kind, diamond_type, confidence, carat, color, "
               "shape, table_mm, length_mm, width_mm, depth_mm, temperature_c, humidity_pct, operator, note, time_rule, "
               "extra, defaults) VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)");
  const model::Reading& r = stored.reading;
  const Slot slot(r);
  const std::string extra = extra_json(r.extra);
  const std::string defaults = names_json(r.defaults);
  Statement& insert = state_->insert_reading;
  insert.start().bind_number_or_null(stored.subject).bind(stored.instrument);
  slot.bind_to(insert);
  insert.bind(stored.content).bind(to_millis(r.measured_at)).bind(static_cast<int64_t>(r.finding));
  insert.bind(int64_t{stored.live}).bind_number_or_null(stored.pair).bind_number_or_null(near ? 1 : 0);
  insert.bind(stored.document).bind(stored.intake);
  insert.bind(static_cast<int64_t>(r.place.offset)).bind(static_cast<int64_t>(r.place.length));
  insert.bind(int64_t{r.place.line}).bind(to_millis(stored.came_at));
  // A null stock: the subject's key says it, or nothing does and the reading is unbound or was bound by a scan.
  const bool own_key = r.stock_number.empty();
  if (own_key) {
    insert.bind_null().bind_null();
  } else {
    insert.bind(std::string_view(r.stock_number)).bind_text_or_null(r.position);
  }
  bind_word(insert, r.subject_kind);
  bind_word(insert, r.diamond_type);
  insert.bind(r.confidence).bind(r.carat).bind_text_or_null(r.color).bind_text_or_null(r.shape);
  insert.bind(r.table_mm).bind(r.length_mm).bind(r.width_mm).bind(r.depth_mm).bind(r.temperature_c).bind(r.humidity_pct);
  insert.bind_text_or_null(r.operator_name).bind_text_or_null(r.note).bind_text_or_null(r.time_rule);
  insert.bind_text_or_null(extra).bind_text_or_null(defaults);
  if (auto done = insert.run(); !done) return done.error();
  slot.put_order(state_->scratch);
  std::string& last = state_->last_slots[stored.instrument];
  if (last < state_->scratch) last = state_->scratch;
  State::Seen& seen = state_->seen[stored.instrument];
  seen.measured_at = std::max(seen.measured_at, r.measured_at);
  seen.came_at = std::max(seen.came_at, stored.came_at);
  return sqlite3_last_insert_rowid(state_->database.handle());
}

Result<void> Ledger::set_reading_time(Number id, base::Instant came_at, uint64_t offset) {
  GIRDLE_READY(update_reading_time, "UPDATE reading SET came_at = ?, came_offset = ? WHERE id = ?");
  return state_->update_reading_time.start().bind(to_millis(came_at)).bind(static_cast<int64_t>(offset)).bind(id).run();
}

Result<void> Ledger::set_reading_links(Number id, Number subject, bool live, Number pair) {
  GIRDLE_READY(update_reading_links, "UPDATE reading SET subject = ?, live = ?, pair = ? WHERE id = ?");
  return state_->update_reading_links.start()
      .bind_number_or_null(subject)
      .bind(int64_t{live})
      .bind_number_or_null(pair)
      .bind(id)
      .run();
}

Result<void> Ledger::set_near(Number instrument) {
  GIRDLE_READY(update_near, "UPDATE reading SET near = 1 WHERE instrument = ? AND near IS NULL");
  return state_->update_near.start().bind(instrument).run();
}

Result<std::optional<Number>> Ledger::find_declaration(Number subject, int64_t content) {
  GIRDLE_READY(select_declaration, "SELECT id FROM declaration WHERE subject = ? AND content = ?");
  Statement& select = state_->select_declaration;
  auto row = select.start().bind(subject).bind(content).step();
  if (!row) return row.error();
  if (!*row) return std::optional<Number>();
  const Number id = select.number(0);
  select.reset();
  return std::optional<Number>(id);
}

Result<Number> Ledger::add_declaration(Number subject, Number document, const StoredDeclaration& stored) {
  GIRDLE_READY(insert_declaration,
               "INSERT INTO declaration (subject, content, document, offset, length, line, came_at, declared_at, "
               "identity, kind, color, shape, mount, channel, carat, table_mm, length_mm, width_mm, depth_mm, stones, "
               "value, extra) VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)");
  const model::Declaration& d = stored.declaration;
  const std::string extra = extra_json(d.extra);
  Statement& insert = state_->insert_declaration;
  insert.start().bind(subject).bind(stored.content).bind(document);
  insert.bind(static_cast<int64_t>(d.place.offset)).bind(static_cast<int64_t>(d.place.length));
  insert.bind(int64_t{d.place.line}).bind(to_millis(stored.came_at));
  if (d.declared_at) {
    insert.bind(to_millis(*d.declared_at));
  } else {
    insert.bind_null();
  }
  bind_word(insert, d.identity);
  bind_word(insert, d.subject_kind);
  insert.bind_text_or_null(d.color).bind_text_or_null(d.shape).bind_text_or_null(d.mount).bind_text_or_null(d.channel);
  insert.bind(d.carat).bind(d.table_mm).bind(d.length_mm).bind(d.width_mm).bind(d.depth_mm).bind(d.stones).bind(d.value);
  insert.bind_text_or_null(extra);
  if (auto done = insert.run(); !done) return done.error();
  return sqlite3_last_insert_rowid(state_->database.handle());
}

Result<bool> Ledger::add_scan(const model::Scan& scan, Number document) {
  GIRDLE_READY(insert_scan, "INSERT INTO scan VALUES (?, ?, ?, ?, ?) ON CONFLICT DO NOTHING");
  auto done = state_->insert_scan.start()
                  .bind(std::string_view(scan.bench))
                  .bind(to_millis(scan.scanned_at))
                  .bind(std::string_view(scan.stock_number))
                  .bind(std::string_view(scan.position))
                  .bind(document)
                  .run();
  if (!done) return done.error();
  return sqlite3_changes(state_->database.handle()) > 0;
}

Result<void> Ledger::add_receipts(ReceiptKind kind, Number first, int64_t count, Number document, base::Instant came_at,
                                  uint64_t offset) {
  GIRDLE_READY(next_receipt, "SELECT coalesce(max(id), 0) + 1 FROM receipt WHERE kind = ? AND first = ?");
  GIRDLE_READY(insert_receipt, "INSERT INTO receipt VALUES (?, ?, ?, ?, ?, ?, ?)");
  Statement& next = state_->next_receipt;
  auto row = next.start().bind(static_cast<int64_t>(kind)).bind(first).step();
  if (!row) return row.error();
  const int64_t id = next.number(0);
  next.reset();
  return state_->insert_receipt.start()
      .bind(static_cast<int64_t>(kind))
      .bind(first)
      .bind(id)
      .bind(count)
      .bind(document)
      .bind(static_cast<int64_t>(offset))
      .bind(to_millis(came_at))
      .run();
}

Result<Number> Ledger::add_aside(Number intake, Number document, const model::Aside& aside, base::Instant now) {
  GIRDLE_READY(insert_aside,
               "INSERT INTO aside (intake, document, offset, length, line, reason, bytes, truncated, at) "
               "VALUES (?1,?2,?3,?4,?5,?6,?7,?8,?9) ON CONFLICT DO UPDATE SET settled_at = NULL, "
               "tried_at = ?9 WHERE at < ?9");
  auto done = state_->insert_aside.start()
                  .bind(intake)
                  .bind(document)
                  .bind(static_cast<int64_t>(aside.place.offset))
                  .bind(static_cast<int64_t>(aside.place.length))
                  .bind(int64_t{aside.place.line})
                  .bind(std::string_view(aside.reason))
                  .bind_blob(aside.bytes)
                  .bind(int64_t{aside.truncated})
                  .bind(to_millis(now))
                  .run();
  if (!done) return done.error();
  return sqlite3_last_insert_rowid(state_->database.handle());
}

Result<void> Ledger::set_position(Number intake, const model::FilePosition& p) {
  GIRDLE_READY(upsert_position,
               "INSERT INTO file_position VALUES (?1,?2,?3,?4,?5,?6,?7,?8) ON CONFLICT DO UPDATE SET size = ?3, "
               "mtime_ns = ?4, ctime_ns = ?5, offset = ?6, prefix = ?7, resume = ?8");
  return state_->upsert_position.start()
      .bind(intake)
      .bind(std::string_view(p.name))
      .bind(static_cast<int64_t>(p.size))
      .bind(p.mtime_ns)
      .bind(p.ctime_ns)
      .bind(static_cast<int64_t>(p.offset))
      .bind_blob(bytes_of(p.prefix))
      .bind_blob(p.resume)
      .run();
}

Result<void> Ledger::put_case(const CaseRow& row, bool fresh) {
  GIRDLE_READY(insert_case, "INSERT INTO cases VALUES (?1, ?2, ?3, ?4, ?5, ?6)");
  GIRDLE_READY(update_case,
               "UPDATE cases SET first_at = ?2, last_at = ?3, state = ?4, merged_into = ?5, sequence = ?6 "
               "WHERE number = ?1");
  return (fresh ? state_->insert_case : state_->update_case)
      .start()
      .bind(row.number)
      .bind(to_millis(row.first_at))
      .bind(to_millis(row.last_at))
      .bind(static_cast<int64_t>(row.state))
      .bind_number_or_null(row.merged_into)
      .bind(row.sequence)
      .run();
}

Result<void> Ledger::add_outcome(const OutcomeRow& row) {
  GIRDLE_READY(insert_outcome, "INSERT INTO outcome VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)");
  const model::Evidence& e = row.decision.evidence;
  const std::string detail = model::evidence_detail(e);
  const std::string measured = row.measured ? pack_measured(*row.measured) : std::string();
  Statement& insert = state_->insert_outcome;
  insert.start().bind(row.case_number).bind(row.sequence).bind(static_cast<int64_t>(row.decision.disposition));
  bind_word(insert, row.previous);
  insert.bind(static_cast<int64_t>(e.finding)).bind(std::string_view(row.decision.reason));
  insert.bind(int64_t{row.decision.rule}).bind(int64_t{e.valid}).bind(int64_t{e.voids}).bind(int64_t{e.discounted});
  insert.bind(int64_t{e.required}).bind(row.duplicates).bind(static_cast<int64_t>(e.scope));
  insert.bind(static_cast<int64_t>(e.instrument));
  bind_word(insert, e.declared);
  insert.bind_number_or_null(row.declaration).bind(static_cast<int64_t>(row.kind));
  insert.bind_number_or_null(row.merged_into).bind(row.house).bind(to_millis(row.decided_at));
  insert.bind(int64_t{e.instruments}).bind(int64_t{e.dissent}).bind_text_or_null(detail);
  if (row.measured) {
    insert.bind_blob(measured);
  } else {
    insert.bind_null();
  }
  auto done = insert.run();
  return done && row.hand ? state_->add_hand(row) : done;
}

Result<void> Ledger::add_activation(const Activation& activation) {
  GIRDLE_READY(insert_activation,
               "INSERT INTO activation (house, at, valid_from, approved_by, why) VALUES (?, ?, ?, ?, ?)");
  Statement& insert = state_->insert_activation;
  insert.start().bind(activation.house).bind(to_millis(activation.at));
  if (activation.valid_from) {
    insert.bind(to_millis(*activation.valid_from));
  } else {
    insert.bind_null();
  }
  return insert.bind_text_or_null(activation.approved_by).bind_text_or_null(activation.why).run();
}

Result<void> Ledger::add_shadow(const ShadowRow& row) {
  GIRDLE_READY(insert_shadow,
               "INSERT INTO shadow VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT (case_number, sequence, house) DO NOTHING");
  return state_->insert_shadow.start()
      .bind(row.case_number)
      .bind(row.sequence)
      .bind(row.house)
      .bind(static_cast<int64_t>(row.disposition))
      .bind(std::string_view(row.reason))
      .bind(int64_t{row.rule})
      .run();
}

}  // namespace girdle::ledger
