#include "ledger/rows.h"

#include <simdjson.h>

#include <cstring>

#include "ledger/measured.h"

namespace girdle::ledger {
namespace {

using base::from_millis;
using base::Result;

template <class Enum>
std::optional<Enum> word(const Statement& row, int column) {
  if (row.is_null(column)) return std::nullopt;
  return static_cast<Enum>(row.number(column));
}

// One for all rows that a thread reads: its memory costs more than most of the texts.
simdjson::dom::parser& json_parser() {
  static thread_local simdjson::dom::parser parser;
  return parser;
}

std::vector<std::pair<std::string, std::string>> parse_extra(std::string_view json) {
  std::vector<std::pair<std::string, std::string>> extra;
  if (json.empty()) return extra;
  simdjson::dom::object object;
  if (json_parser().parse(json.data(), json.size()).get(object) != simdjson::SUCCESS) return extra;
  for (const auto field : object) {
    std::string_view value;
    if (field.value.get(value) == simdjson::SUCCESS) extra.emplace_back(field.key, value);
  }
  return extra;
}

std::vector<std::string> parse_names(std::string_view json) {
  std::vector<std::string> names;
  if (json.empty()) return names;
  simdjson::dom::array array;
  if (json_parser().parse(json.data(), json.size()).get(array) != simdjson::SUCCESS) return names;
  for (const auto name : array) {
    std::string_view text;
    if (name.get(text) == simdjson::SUCCESS) names.emplace_back(text);
  }
  return names;
}

std::string told(const OutcomeRow& outcome) {
  return "outcome " + std::to_string(outcome.sequence) + " of case " + std::to_string(outcome.case_number);
}

// The detail of the evidence is null where there is none, and where the outcome is older than version 2 of the tables.
Result<void> read_evidence(const Statement& row, int column, const OutcomeRow& outcome, model::Evidence& evidence) {
  if (row.is_null(column)) return {};
  if (row.type(column) == SQLITE_TEXT && model::read_detail(row.text(column), evidence)) return {};
  return row.damage("the evidence of " + told(outcome) + " is no evidence");
}

Result<void> read_measured(const Statement& row, int column, OutcomeRow& outcome) {
  if (row.is_null(column)) return {};
  if (row.type(column) == SQLITE_BLOB) outcome.measured = unpack_measured(row.blob(column));
  if (outcome.measured) return {};
  return row.damage("the readings that " + told(outcome) + " rests on are no list of readings");
}

}  // namespace

int64_t first_eight(std::string_view digest) {
  int64_t number = 0;
  if (digest.size() >= sizeof number) std::memcpy(&number, digest.data(), sizeof number);
  return number;
}

void split_key(std::string_view key, std::string& stock, std::string& position) {
  const size_t mark = key.rfind('#');
  stock = key.substr(0, mark);
  position = mark == std::string_view::npos ? std::string_view() : key.substr(mark + 1);
}

void row_reading(const Statement& row, int at, StoredReading& s) {
  s.id = row.number(at);
  s.subject = row.number(at + 1);
  s.instrument = row.number(at + 2);
  s.content = row.number(at + 4);
  s.live = row.number(at + 7) != 0;
  s.pair = row.number(at + 8);
  s.document = row.number(at + 9);
  s.intake = row.number(at + 10);
  s.came_at = from_millis(row.number(at + 14));
  s.came_offset = static_cast<uint64_t>(row.number(at + 15));
  model::Reading& r = s.reading;
  if (row.type(at + 3) != SQLITE_BLOB) r.run = row.text(at + 3);
  r.measured_at = from_millis(row.number(at + 5));
  r.finding = static_cast<model::Finding>(row.number(at + 6));
  r.place = {static_cast<uint64_t>(row.number(at + 11)), static_cast<uint64_t>(row.number(at + 12)),
             static_cast<uint32_t>(row.number(at + 13))};
  r.stock_number = row.text(at + 16);
  r.position = row.text(at + 17);
  r.subject_kind = word<model::SubjectKind>(row, at + 18);
  r.diamond_type = word<model::DiamondType>(row, at + 19);
  r.confidence = row.decimal(at + 20);
  r.carat = row.decimal(at + 21);
  r.color = row.text(at + 22);
  r.shape = row.text(at + 23);
  r.table_mm = row.decimal(at + 24);
  r.length_mm = row.decimal(at + 25);
  r.width_mm = row.decimal(at + 26);
  r.depth_mm = row.decimal(at + 27);
  r.temperature_c = row.decimal(at + 28);
  r.humidity_pct = row.decimal(at + 29);
  r.operator_name = row.text(at + 30);
  r.note = row.text(at + 31);
  r.time_rule = row.text(at + 32);
  r.extra = parse_extra(row.text(at + 33));
  r.defaults = parse_names(row.text(at + 34));
}

void row_declaration(const Statement& row, int at, StoredDeclaration& s) {
  s.id = row.number(at);
  s.content = row.number(at + 1);
  s.came_at = from_millis(row.number(at + 2));
  s.list = first_eight(row.blob(at + 3));
  model::Declaration& d = s.declaration;
  d.place = {static_cast<uint64_t>(row.number(at + 4)), static_cast<uint64_t>(row.number(at + 5)),
             static_cast<uint32_t>(row.number(at + 6))};
  if (!row.is_null(at + 7)) d.declared_at = from_millis(row.number(at + 7));
  d.identity = word<model::Finding>(row, at + 8);
  d.subject_kind = word<model::SubjectKind>(row, at + 9);
  d.color = row.text(at + 10);
  d.shape = row.text(at + 11);
  d.mount = row.text(at + 12);
  d.channel = row.text(at + 13);
  d.carat = row.decimal(at + 14);
  d.table_mm = row.decimal(at + 15);
  d.length_mm = row.decimal(at + 16);
  d.width_mm = row.decimal(at + 17);
  d.depth_mm = row.decimal(at + 18);
  d.stones = row.decimal(at + 19);
  d.value = row.decimal(at + 20);
  d.extra = parse_extra(row.text(at + 21));
  split_key(row.text(at + 22), d.stock_number, d.position);
  s.document = row.number(at + 23);
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

Result<void> row_outcome(const Statement& row, int at, OutcomeRow& o) {
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
  e.instruments = static_cast<int>(row.number(at + 20));
  e.dissent = static_cast<int>(row.number(at + 21));
  if (auto done = read_evidence(row, at + 22, o, e); !done) return done;
  return read_measured(row, at + 23, o);
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
  d.reference = row.text(at + 10);
  d.made = row.is_null(at + 11) ? d.attempts : row.number(at + 11);
  return d;
}

AttemptRow row_attempt(const Statement& row, int at) {
  AttemptRow a;
  a.delivery = row.number(at);
  a.number = row.number(at + 1);
  a.at = from_millis(row.number(at + 2));
  a.took = base::Millis(row.number(at + 3));
  a.status = static_cast<int>(row.number(at + 4));
  a.note = row.text(at + 5);
  a.answer = row.blob(at + 6);
  return a;
}

Activation row_activation(const Statement& row, int at) {
  Activation a;
  a.house = row.number(at);
  a.at = from_millis(row.number(at + 1));
  if (!row.is_null(at + 2)) a.valid_from = from_millis(row.number(at + 2));
  a.approved_by = row.text(at + 3);
  a.why = row.text(at + 4);
  return a;
}

std::optional<base::Instant> row_time(const Statement& row, int column) {
  if (row.is_null(column)) return std::nullopt;
  return from_millis(row.number(column));
}

AsideRow row_aside(const Statement& row, int at, bool with_bytes) {
  AsideRow a;
  a.id = row.number(at);
  a.intake = row.text(at + 1);
  a.document = row.text(at + 2);
  a.document_number = row.number(at + 3);
  a.at = from_millis(row.number(at + 4));
  a.aside.place = {static_cast<uint64_t>(row.number(at + 5)), static_cast<uint64_t>(row.number(at + 6)),
                   static_cast<uint32_t>(row.number(at + 7))};
  a.aside.reason = row.text(at + 8);
  if (with_bytes) a.aside.bytes = row.blob(at + 9);
  a.aside.truncated = row.number(at + 10) != 0;
  a.settled_at = row_time(row, at + 11);
  a.tried_at = row_time(row, at + 12);
  a.is_kept = row.number(at + 13) != 0;
  return a;
}

Hand row_hand(const Statement& row, int at) {
  return {std::string(row.text(at)), std::string(row.text(at + 1)), std::string(row.text(at + 2))};
}

BindingRow row_binding(const Statement& row, int at) {
  BindingRow b;
  b.id = row.number(at);
  b.reading = row.number(at + 1);
  b.stock_number = row.text(at + 2);
  b.position = row.text(at + 3);
  b.by = row_hand(row, at + 4);
  b.at = from_millis(row.number(at + 7));
  return b;
}

model::PolicyStamp row_stamp(const Statement& row, int at) {
  model::PolicyStamp stamp;
  stamp.name = row.text(at);
  stamp.version = row.text(at + 1);
  stamp.digest = row.text(at + 2);
  return stamp;
}

ShadowRow row_shadow(const Statement& row, int at) {
  ShadowRow s;
  s.case_number = row.number(at);
  s.sequence = row.number(at + 1);
  s.house = row.number(at + 2);
  s.disposition = static_cast<model::Disposition>(row.number(at + 3));
  s.reason = row.text(at + 4);
  s.rule = static_cast<int>(row.number(at + 5));
  return s;
}

}  // namespace girdle::ledger
