#include "reading/mapper.h"

#include <algorithm>
#include <array>
#include <optional>

#include "base/text.h"
#include "base/time.h"
#include "reading/field_values.h"

namespace girdle::reading {
namespace {

using base::Decimal;
using base::Instant;
using model::Declaration;
using model::FieldRule;
using model::Finding;
using model::Reading;
using model::RecordKind;
using model::Scan;

// What a rule writes to. One of the member pointers is set, or `special` says what else.
enum class Special { kNone, kMeasuredAt, kFinding, kDiamondType, kSubjectKind, kIdentity, kStock, kExtra };

template <class Record>
struct Field {
  std::string_view name;
  Special special = Special::kNone;
  std::string Record::*text = nullptr;
  std::optional<Decimal> Record::*decimal = nullptr;
  Range range = Range::kAny;
  bool required = false;
};

constexpr Field<Reading> kReadingFields[] = {
    {.name = "instrument", .text = &Reading::instrument, .required = true},
    {.name = "run", .text = &Reading::run},
    {.name = "measured_at", .special = Special::kMeasuredAt, .required = true},
    {.name = "stock_number", .special = Special::kStock, .text = &Reading::stock_number},
    {.name = "position", .text = &Reading::position},
    {.name = "subject_kind", .special = Special::kSubjectKind},
    {.name = "finding", .special = Special::kFinding, .required = true},
    {.name = "diamond_type", .special = Special::kDiamondType},
    {.name = "confidence", .decimal = &Reading::confidence, .range = Range::kFraction},
    {.name = "carat", .decimal = &Reading::carat, .range = Range::kPositive},
    {.name = "color", .text = &Reading::color},
    {.name = "shape", .text = &Reading::shape},
    {.name = "table_mm", .decimal = &Reading::table_mm, .range = Range::kPositive},
    {.name = "length_mm", .decimal = &Reading::length_mm, .range = Range::kPositive},
    {.name = "width_mm", .decimal = &Reading::width_mm, .range = Range::kPositive},
    {.name = "depth_mm", .decimal = &Reading::depth_mm, .range = Range::kPositive},
    {.name = "temperature_c", .decimal = &Reading::temperature_c, .range = Range::kCelsius},
    {.name = "humidity_pct", .decimal = &Reading::humidity_pct, .range = Range::kPercent},
    {.name = "operator", .text = &Reading::operator_name},
    {.name = "note", .text = &Reading::note},
};

// Lists come with dimensions of zero where nobody measured: kept as given, a declaration is what the house claims.
constexpr Field<Declaration> kDeclarationFields[] = {
    {.name = "stock_number", .special = Special::kStock, .text = &Declaration::stock_number, .required = true},
    {.name = "position", .text = &Declaration::position},
    {.name = "subject_kind", .special = Special::kSubjectKind},
    {.name = "identity", .special = Special::kIdentity},
    {.name = "color", .text = &Declaration::color},
    {.name = "shape", .text = &Declaration::shape},
    {.name = "mount", .text = &Declaration::mount},
    {.name = "channel", .text = &Declaration::channel},
    {.name = "carat", .decimal = &Declaration::carat, .range = Range::kPositive},
    {.name = "table_mm", .decimal = &Declaration::table_mm, .range = Range::kNotNegative},
    {.name = "length_mm", .decimal = &Declaration::length_mm, .range = Range::kNotNegative},
    {.name = "width_mm", .decimal = &Declaration::width_mm, .range = Range::kNotNegative},
    {.name = "depth_mm", .decimal = &Declaration::depth_mm, .range = Range::kNotNegative},
    {.name = "stones", .decimal = &Declaration::stones, .range = Range::kPositive},
    {.name = "value", .decimal = &Declaration::value, .range = Range::kNotNegative},
    {.name = "declared_at", .special = Special::kMeasuredAt},
};

constexpr Field<Scan> kScanFields[] = {
    {.name = "bench", .text = &Scan::bench, .required = true},
    {.name = "stock_number", .special = Special::kStock, .text = &Scan::stock_number, .required = true},
    {.name = "position", .text = &Scan::position},
    {.name = "scanned_at", .special = Special::kMeasuredAt, .required = true},
};

struct Rule {
  FieldRule source;
  size_t field = 0;  // in the kind's list; unused for extra.*
  bool is_extra = false;
  std::string extra_name;
  bool required = false;
  Unit unit = Unit::kOurs;
  base::TimeForm form;
  base::Zone zone = base::Zone::utc();
  base::TwiceRule twice = base::TwiceRule::kRefuse;
  std::array<int, 8> columns{};  // of source.from in the layout; -1 = not there
};

void set_time(Reading& r, Instant at) { r.measured_at = at; }
void set_time(Declaration& d, Instant at) { d.declared_at = at; }
void set_time(Scan& s, Instant at) { s.scanned_at = at; }

// Each record kind takes the words that it has a place for; mappings with others were refused by config/.
bool set_word(Reading& r, Special special, std::string_view word) {
  switch (special) {
    case Special::kFinding: {
      const auto finding = model::finding_of(word);
      if (finding) r.finding = *finding;
      return finding.has_value();
    }
    case Special::kDiamondType: return (r.diamond_type = model::diamond_type_of(word)).has_value();
    case Special::kSubjectKind: return (r.subject_kind = model::subject_kind_of(word)).has_value();
    case Special::kNone:
    case Special::kMeasuredAt:
    case Special::kIdentity:
    case Special::kStock:
    case Special::kExtra: return false;
  }
  return false;
}

bool set_word(Declaration& d, Special special, std::string_view word) {
  if (special == Special::kSubjectKind) return (d.subject_kind = model::subject_kind_of(word)).has_value();
  if (special != Special::kIdentity) return false;
  const auto identity = model::finding_of(word);
  if (!identity || *identity == Finding::kVoid || *identity == Finding::kIndeterminate) return false;
  d.identity = identity;
  return true;
}

bool set_word(Scan&, Special, std::string_view) { return false; }

void set_rule(Reading& r, const char* rule) { r.time_rule = rule; }
void set_rule(Declaration&, const char*) {}
void set_rule(Scan&, const char*) {}

void add_extra(Reading& r, const std::string& name, std::string_view value) { r.extra.emplace_back(name, value); }
void add_extra(Declaration& d, const std::string& name, std::string_view value) { d.extra.emplace_back(name, value); }
void add_extra(Scan&, const std::string&, std::string_view) {}

std::string_view words_for(Special special) {
  switch (special) {
    case Special::kFinding: return "natural, laboratory_grown, treated, composite, simulant, indeterminate or void";
    case Special::kIdentity: return "natural, laboratory_grown, treated, composite or simulant";
    case Special::kDiamondType: return "Ia, Ib, IIa or IIb";
    case Special::kSubjectKind: return "stone, piece or parcel";
    case Special::kNone:
    case Special::kMeasuredAt:
    case Special::kStock:
    case Special::kExtra: return "";
  }
  return "";
}

std::string source_name(const Rule& rule) {
  if (rule.source.has_constant) return "the constant of " + rule.source.field;
  std::string name = rule.source.from.size() > 1 ? "columns " : "column ";
  for (size_t i = 0; i < rule.source.from.size(); ++i) {
    if (i > 0) name += " and ";
    name += '"' + rule.source.from[i] + '"';
  }
  return name;
}

std::string known_words(const FieldRule& rule) {
  std::vector<std::string_view> words;
  for (const auto& [word, ours] : rule.words) words.push_back(word);
  return base::listed(words);
}

base::TwiceRule twice_of(std::string_view word) {
  if (word == "earlier") return base::TwiceRule::kEarlier;
  return word == "later" ? base::TwiceRule::kLater : base::TwiceRule::kRefuse;
}

}  // namespace

struct Mapper::State {
  RecordKind kind = RecordKind::kReading;
  bool sparse = false;
  std::vector<Rule> rules;
  bool maps_position = false;
  uint32_t layout = 0;  // that the columns are bound to; 0 = none
  std::string joined;   // scratch: columns joined by a space

  base::Result<void> add_rule(const FieldRule& source, const model::Mapping& mapping, std::string_view timezone);
  void bind(const girdle_record& record);
  // The raw text; nothing when it is absent, with the reason when it had to be there.
  std::optional<std::string_view> raw(const Rule& rule, const girdle_record& record, std::string& reason);

  template <class Record, size_t N>
  bool fill(const Field<Record> (&fields)[N], const girdle_record& record, Record& out, std::string& reason);
  template <class Record>
  bool set(const Field<Record>& field, const Rule& rule, std::string_view text, Record& out, std::string& reason);
  template <class Record>
  bool set_stock(const Rule& rule, std::string_view text, Record& out, std::string& reason);
  template <class Record>
  bool set_instant(const Rule& rule, std::string_view text, Record& out, std::string& reason);
};

Mapper::Mapper(std::unique_ptr<State> state) : state_(std::move(state)) {}
Mapper::Mapper(Mapper&&) noexcept = default;
Mapper& Mapper::operator=(Mapper&&) noexcept = default;
Mapper::~Mapper() = default;

namespace {

struct FoundField {
  size_t index;
  bool required;
};

template <class Record, size_t N>
std::optional<FoundField> find_field(const Field<Record> (&fields)[N], std::string_view name) {
  for (size_t i = 0; i < N; ++i) {
    if (fields[i].name == name) return FoundField{i, fields[i].required};
  }
  return std::nullopt;
}

std::optional<FoundField> find_field(RecordKind kind, std::string_view name) {
  switch (kind) {
    case RecordKind::kReading: return find_field(kReadingFields, name);
    case RecordKind::kDeclaration: return find_field(kDeclarationFields, name);
    case RecordKind::kScan: return find_field(kScanFields, name);
  }
  return std::nullopt;
}

}  // namespace

base::Result<void> Mapper::State::add_rule(const FieldRule& source, const model::Mapping& mapping,
                                           std::string_view timezone) {
  const auto wrong = [&](const std::string& why) {
    return base::input_error(mapping.file + ":" + std::to_string(source.mark.line) + ":" +
                             std::to_string(source.mark.column) + ": " + source.field + ": " + why);
  };
  Rule rule;
  rule.source = source;
  if (source.from.size() > rule.columns.size()) {
    return wrong("at most " + std::to_string(rule.columns.size()) + " columns are joined");
  }
  if (source.field.starts_with("extra.")) {
    rule.is_extra = true;
    rule.extra_name = source.field.substr(6);
  } else {
    const auto found = find_field(kind, source.field);
    if (!found) return wrong("there is no such field in this kind of record");
    rule.field = found->index;
    rule.required = found->required;
  }
  const auto unit = unit_of(source.field, source.unit);
  if (!unit) return wrong("the unit \"" + source.unit + "\" is none of this field's");
  rule.unit = *unit;
  auto form = base::TimeForm::compile(source.form);
  if (!form) return wrong(form.error().text);
  rule.form = std::move(form).value();
  const std::string_view zone = !source.zone.empty()    ? std::string_view(source.zone)
                                : !mapping.zone.empty() ? std::string_view(mapping.zone)
                                                        : timezone;
  auto found_zone = base::Zone::find(zone);
  if (!found_zone) return wrong(found_zone.error().text);
  rule.zone = std::move(found_zone).value();
  rule.twice = twice_of(source.twice.empty() ? mapping.twice : source.twice);
  maps_position = maps_position || source.field == "position";
  rules.push_back(std::move(rule));
  return {};
}

base::Result<Mapper> Mapper::compile(const model::Mapping& mapping, std::string_view timezone, bool sparse) {
  auto state = std::make_unique<State>();
  state->kind = mapping.record;
  state->sparse = sparse;
  for (const FieldRule& rule : mapping.fields) {
    if (auto done = state->add_rule(rule, mapping, timezone); !done) return done.error();
  }
  // extra.* in the order of their names, as a record keeps them.
  std::stable_sort(state->rules.begin(), state->rules.end(), [](const Rule& a, const Rule& b) {
    return a.is_extra != b.is_extra ? b.is_extra : a.is_extra && a.extra_name < b.extra_name;
  });
  return Mapper(std::move(state));
}

void Mapper::forget_layout() { state_->layout = 0; }

void Mapper::State::bind(const girdle_record& record) {
  if (record.layout != 0 && record.layout == layout) return;
  layout = record.layout;
  for (Rule& rule : rules) {
    for (size_t f = 0; f < rule.source.from.size(); ++f) {
      rule.columns[f] = -1;
      for (size_t c = 0; c < record.count; ++c) {
        if (std::string_view(record.names[c].data, record.names[c].size) == rule.source.from[f]) {
          rule.columns[f] = static_cast<int>(c);
          break;
        }
      }
    }
  }
}

std::optional<std::string_view> Mapper::State::raw(const Rule& rule, const girdle_record& record, std::string& reason) {
  if (rule.source.has_constant) return rule.source.constant;
  const size_t count = rule.source.from.size();
  for (size_t f = 0; f < count; ++f) {
    if (rule.columns[f] >= 0) continue;
    if (sparse && !rule.required) return std::nullopt;
    std::vector<std::string_view> there;
    for (size_t c = 0; c < std::min<size_t>(record.count, 30); ++c) there.emplace_back(record.names[c].data, record.names[c].size);
    reason = "there is no \"" + rule.source.from[f] + "\", from which the mapping takes " + rule.source.field + "; there is " +
             base::excerpt(base::listed(there), 300);
    return std::nullopt;
  }
  const auto text = [&](size_t f) {
    const girdle_text& value = record.values[static_cast<size_t>(rule.columns[f])];
    return base::trimmed(value.size == 0 ? std::string_view() : std::string_view(value.data, value.size));
  };
  if (count == 1) return text(0);
  joined.clear();
  for (size_t f = 0; f < count; ++f) {
    if (f > 0) joined += ' ';
    joined += text(f);
  }
  return base::trimmed(joined);
}

template <class Record>
bool Mapper::State::set_stock(const Rule& rule, std::string_view text, Record& out, std::string& reason) {
  if (!check_key(text, reason)) return false;
  const size_t mark = maps_position ? std::string_view::npos : text.rfind('#');
  if (mark == std::string_view::npos) {
    if (text.find('#') != std::string_view::npos) {
      reason = "holds \"" + base::excerpt(text) + "\": a stock number with # in it and a position of its own are ambiguous";
      return false;
    }
    out.stock_number = text;
    return true;
  }
  if (mark == 0 || mark + 1 == text.size()) {
    reason = "holds \"" + base::excerpt(text) + "\"; a stone of a piece is written STOCK#POSITION";
    return false;
  }
  out.stock_number = text.substr(0, mark);
  out.position = text.substr(mark + 1);
  (void)rule;
  return true;
}

template <class Record>
bool Mapper::State::set_instant(const Rule& rule, std::string_view text, Record& out, std::string& reason) {
  auto instant = rule.form.parse(text, rule.zone, base::TwiceRule::kRefuse);
  if (!instant && rule.twice != base::TwiceRule::kRefuse) {
    instant = rule.form.parse(text, rule.zone, rule.twice);
    if (instant) set_rule(out, rule.twice == base::TwiceRule::kEarlier ? "earlier" : "later");
  }
  if (!instant) {
    reason = instant.error().text;
    return false;
  }
  set_time(out, *instant);
  return true;
}

template <class Record>
bool Mapper::State::set(const Field<Record>& field, const Rule& rule, std::string_view text, Record& out,
                        std::string& reason) {
  switch (field.special) {
    case Special::kMeasuredAt: return set_instant(rule, text, out, reason);
    case Special::kStock: return set_stock(rule, text, out, reason);
    case Special::kFinding:
    case Special::kDiamondType:
    case Special::kSubjectKind:
    case Special::kIdentity:
      if (set_word(out, field.special, text)) return true;
      reason = "holds \"" + base::excerpt(text) + "\", which is not " + std::string(words_for(field.special)) +
               "; the mapping can translate it with  words";
      return false;
    case Special::kNone:
    case Special::kExtra: break;
  }
  if (field.decimal != nullptr) {
    auto number = read_decimal(text, rule.source, rule.unit, field.range, reason);
    if (!number) return false;
    out.*field.decimal = *number;
    return true;
  }
  if (!check_key(text, reason)) return false;
  out.*field.text = text;
  return true;
}

template <class Record, size_t N>
bool Mapper::State::fill(const Field<Record> (&fields)[N], const girdle_record& record, Record& out, std::string& reason) {
  for (const Rule& rule : rules) {
    auto text = raw(rule, record, reason);
    if (!text && !reason.empty()) return false;
    if (text && rule.source.has_words) {
      const auto word = rule.source.words.find(*text);
      if (word != rule.source.words.end()) {
        text = word->second;
      } else if (!text->empty() || rule.required) {
        reason = source_name(rule) + " holds \"" + base::excerpt(*text) + "\", which the mapping has no word for (it has " +
                 base::excerpt(known_words(rule.source), 300) + ")";
        return false;
      }
    }
    if (!text || text->empty()) {
      if (!rule.required) continue;
      reason = source_name(rule) + " is empty, and " + rule.source.field + " has to be there";
      return false;
    }
    if (rule.is_extra) {
      add_extra(out, rule.extra_name, *text);
    } else if (!set(fields[rule.field], rule, *text, out, reason)) {
      reason = source_name(rule) + (reason.starts_with('"') ? ": " : " ") + reason;
      return false;
    }
  }
  return true;
}

bool Mapper::apply(const girdle_record& record, model::Records& out, std::string& reason) {
  State& state = *state_;
  state.bind(record);
  reason.clear();
  const model::Place place{record.offset, record.length, static_cast<uint32_t>(std::min<uint64_t>(record.line, UINT32_MAX))};
  const auto keep = [&](auto& list, const auto& fields) {
    auto& made = list.emplace_back();
    made.place = place;
    if (state.fill(fields, record, made, reason)) return true;
    list.pop_back();
    return false;
  };
  switch (state.kind) {
    case RecordKind::kReading: return keep(out.readings, kReadingFields);
    case RecordKind::kDeclaration: return keep(out.declarations, kDeclarationFields);
    case RecordKind::kScan: return keep(out.scans, kScanFields);
  }
  return false;
}

}  // namespace girdle::reading
