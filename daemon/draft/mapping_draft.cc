#include "draft/mapping_draft.h"

#include <algorithm>
#include <initializer_list>
#include <map>

#include "base/text.h"
#include "draft/evidence.h"
#include "draft/number_field.h"
#include "model/words.h"
#include "reading/record_fields.h"

namespace girdle::draft {
namespace {

using model::RecordKind;

constexpr size_t kMostWords = 40;

// Weights and sizes measured by an instrument are of something; a list may say 0 of what it does
// not know.
bool can_be_zero(std::string_view field, RecordKind record) {
  if (field == "carat") return false;
  return !field.ends_with("_mm") || record != RecordKind::kReading;
}

class MappingDrafter {
 public:
  MappingDrafter(const std::vector<RawRecord>& records, const std::vector<Column>& columns,
                 Roles roles)
      : records_(records), columns_(columns), roles_(std::move(roles)), file_mark_(common_mark()) {}

  MappingDraft draft(const std::vector<std::string>& serial_hints) {
    out_.record = roles_.record;
    out_.why_record = roles_.why_record;
    switch (roles_.record) {
      case RecordKind::kReading:
        draft_reading(serial_hints);
        break;
      case RecordKind::kDeclaration:
        draft_declaration();
        break;
      case RecordKind::kScan:
        draft_scan();
        break;
    }
    for (const size_t column : roles_.left) {
      if (!is_first_part_alone(columns_[column])) {
        out_.left.push_back(leftover(columns_[column]));
      }
    }
    return std::move(out_);
  }

 private:
  void draft_reading(const std::vector<std::string>& serial_hints) {
    draft_instrument(serial_hints);
    draft_run();
    draft_time("measured_at");
    draft_key("stock_number",
              "no column looks like the house's key; without it a reading takes the last "
              "fresh scan of its bench");
    draft_key("position");
    draft_words("finding", true);
    draft_vocabulary("diamond_type");
    draft_numbers({"confidence", "carat", "table_mm", "length_mm", "width_mm", "depth_mm"});
    draft_key("color");
    draft_key("shape");
    draft_numbers({"temperature_c", "humidity_pct"});
    draft_key("operator");
    draft_key("note");
  }

  void draft_declaration() {
    draft_stock_required();
    draft_key("position");
    draft_words("identity", false);
    draft_numbers({"carat", "table_mm", "length_mm", "width_mm", "depth_mm"});
    for (const char* field : {"color", "shape", "mount", "channel"}) draft_key(field);
    draft_numbers({"stones", "value"});
    if (role("declared_at") != nullptr) draft_time("declared_at");
  }

  void draft_scan() {
    if (role("bench") != nullptr) {
      draft_key("bench");
    } else {
      FieldDraft& field = add("bench");
      field.value = kFillIn;
      field.evidence = {"no column names the work place at which the scanner lies"};
    }
    draft_stock_required();
    draft_key("position");
    draft_time("scanned_at");
  }

  const Role* role(std::string_view field) const {
    const auto at = roles_.of.find(field);
    return at == roles_.of.end() ? nullptr : &at->second;
  }
  const Column* column_of(std::string_view field) const {
    const Role* found = role(field);
    return found == nullptr ? nullptr : &columns_[found->columns.front()];
  }
  FieldDraft& add(std::string_view name) {
    FieldDraft& field = out_.fields.emplace_back();
    field.field = name;
    return field;
  }
  FieldDraft& add_from(std::string_view name) {
    FieldDraft& field = add(name);
    for (const size_t column : role(name)->columns) field.from.push_back(columns_[column].name);
    return field;
  }
  void tell_others(std::string_view name, FieldDraft& field) const {
    std::vector<std::string> names;
    for (const size_t column : role(name)->others)
      names.push_back(in_quotes(columns_[column].name));
    if (!names.empty()) field.evidence.push_back("might also be " + listed(names, "or"));
  }
  void tell_gaps(const Column& column, bool required, FieldDraft& field) const {
    const size_t without = column.missing + column.empty;
    if (without == 0) return;
    field.evidence.push_back(counted(without, "record") + (without == 1 ? " has" : " have") +
                             " no value" + (required ? ", and will be set aside" : ""));
  }

  void draft_instrument(const std::vector<std::string>& serial_hints);
  void draft_run();
  void draft_time(std::string_view name);
  void draft_stock_required();
  void draft_key(std::string_view name, std::string_view where_missing = {});
  void draft_words(std::string_view name, bool required);
  void draft_vocabulary(std::string_view name);
  void draft_numbers(std::initializer_list<std::string_view> names);
  void refuse(FieldDraft& field, std::string why) const {
    field.only_offered = true;
    field.evidence.push_back(std::move(why));
  }
  void add_words(const Column& column, bool with_empty, FieldDraft& field) const;
  std::string candidates_for_result() const;
  std::string leftover(const Column& column);
  std::string_view said_unit(const Column& column) const;
  bool is_first_part_alone(const Column& column) const;
  char common_mark() const;

  const std::vector<RawRecord>& records_;
  const std::vector<Column>& columns_;
  const Roles roles_;
  const char file_mark_;  // the decimal mark that other columns show; '\0' where none does
  std::map<std::string, size_t> extras_;  // names so far
  MappingDraft out_;
};

char MappingDrafter::common_mark() const {
  char mark = '\0';
  for (const Column& column : columns_) {
    const NumberLook& look = column.numbers;
    if (!look.are_numbers() || look.is_ambiguous() || look.whole) continue;
    if (mark != '\0' && mark != look.marks.front().decimal) return '\0';
    mark = look.marks.front().decimal;
  }
  return mark;
}

void MappingDrafter::draft_instrument(const std::vector<std::string>& serial_hints) {
  if (const Column* column = column_of("instrument")) {
    FieldDraft& field = add_from("instrument");
    field.evidence.push_back(in_quotes(column->name) + ": " + words_shown(*column) +
                             "; check that it is the serial number");
    tell_others("instrument", field);
    tell_gaps(*column, true, field);
    for (const DistinctText& one : column->distinct) out_.serials.emplace_back(one.text);
    return;
  }
  FieldDraft& field = add("instrument");
  field.value = kFillIn;
  field.evidence.push_back("no column names the instrument: its serial number is on its plate");
  field.evidence.insert(field.evidence.end(), serial_hints.begin(), serial_hints.end());
}

void MappingDrafter::draft_run() {
  const Column* column = column_of("run");
  if (column == nullptr) return;
  FieldDraft& field = add_from("run");
  std::string seen = in_quotes(column->name) + ": ";
  if (column->rises_by_one && column->filled() > 1) {
    seen += "rises by one, from " + std::string(column->distinct.front().text) + " to " +
            std::string(column->distinct.back().text);
  } else if (column->rises && column->filled() > 1) {
    seen += "whole numbers that rise";
  } else {
    seen += counted(column->distinct_count, "different text") + " in " +
            counted(column->filled(), "record");
  }
  field.evidence.push_back(seen);
  if (column->distinct_count < column->filled()) {
    refuse(field, "numbers come again: a record with the run of an earlier one would replace it");
    return;
  }
  field.evidence.push_back(
      "take it out if the instrument ever begins to count anew: a record with the run of an "
      "earlier one replaces it");
}

void MappingDrafter::draft_time(std::string_view name) {
  const Role* found = role(name);
  if (found == nullptr) {
    FieldDraft& field = add(name);
    field.from = {std::string(kFillIn)};
    field.evidence = {"no column holds a time by which all records can be read"};
    return;
  }
  FieldDraft& field = add_from(name);
  const TimeColumns time = time_of(columns_, found->columns);
  tell_others(name, field);
  if (time.readings.empty()) {
    field.keys.push_back(open_setting("form", {}, "no form that is known reads all of them"));
    return;
  }
  const TimeReading& first = time.readings.front();
  field.evidence.insert(field.evidence.begin(), time_shown(time, first));
  for (const Column* column : time.columns) tell_gaps(*column, true, field);
  if (!has_time_of_day(first.form)) field.evidence.push_back("dates without a time of day");
  out_.has_local_times = out_.has_local_times || first.local;
  if (time.readings.size() == 1) {
    if (first.form != "rfc3339") field.keys.push_back(settled("form", first.form));
    return;
  }
  std::vector<std::string> forms;
  for (const TimeReading& reading : time.readings) {
    forms.push_back(reading.form);
    field.evidence.push_back(form_shown(reading));
  }
  field.keys.push_back(open_setting("form", std::move(forms), {}));
}

void MappingDrafter::draft_stock_required() {
  if (role("stock_number") != nullptr) return draft_key("stock_number");
  FieldDraft& field = add("stock_number");
  field.from = {std::string(kFillIn)};
  // Those that every record has come first.
  std::vector<std::string> whole, others;
  for (const size_t at : roles_.left) {
    const Column& column = columns_[at];
    if (column.name.empty()) continue;
    const bool fits = column.filled() == records_.size() && !column.has_control;
    (fits ? whole : others).push_back(in_quotes(column.name));
  }
  whole.insert(whole.end(), others.begin(), others.end());
  field.evidence = {"no column looks like the house's key" +
                    (whole.empty() ? std::string() : "; there is " + listed(whole, "and"))};
}

void MappingDrafter::draft_key(std::string_view name, std::string_view where_missing) {
  const Column* column = column_of(name);
  if (column == nullptr) {
    if (where_missing.empty()) return;
    FieldDraft& field = add(name);
    field.from = {std::string(kFillIn)};
    refuse(field, std::string(where_missing));
    return;
  }
  FieldDraft& field = add_from(name);
  field.evidence.push_back(key_shown(*column));
  tell_others(name, field);
  tell_gaps(*column, name == "stock_number" && out_.record != RecordKind::kReading, field);
  if (column->has_control && name != "note") refuse(field, "holds control characters");
}

void MappingDrafter::add_words(const Column& column, bool with_empty, FieldDraft& field) const {
  for (const DistinctText& one : column.distinct) {
    if (field.words.size() == kMostWords) break;
    field.words.push_back({std::string(one.text), std::string(kFillIn),
                           times_shown(one.count) + ", first " + place_shown(records_, one.first)});
  }
  if (!with_empty || column.empty == 0) return;
  field.words.push_back({"", std::string(kFillIn), times_shown(column.empty) + ": nothing there"});
}

std::string MappingDrafter::candidates_for_result() const {
  std::vector<std::string> shown;
  for (const size_t at : roles_.left) {
    const Column& column = columns_[at];
    if (!column.name.empty() && may_be_result(column, records_.size())) {
      shown.push_back(in_quotes(column.name) + " (" + words_shown(column) + ")");
    }
  }
  return listed(shown, "or");
}

void MappingDrafter::draft_words(std::string_view name, bool required) {
  const Column* column = column_of(name);
  if (column == nullptr) {
    if (!required) return;
    FieldDraft& field = add(name);
    field.from = {std::string(kFillIn)};
    const std::string candidates = candidates_for_result();
    field.evidence.push_back("no column is plainly the result" +
                             (candidates.empty() ? std::string() : "; it may be " + candidates));
    return;
  }
  FieldDraft& field = add_from(name);
  const bool meant = role(name)->by_name;
  field.evidence.push_back(in_quotes(column->name) + ": " +
                           counted(column->distinct_count, "different text") + " in " +
                           counted(records_.size(), "record") +
                           (meant ? "" : "; its name does not say that it is the result"));
  field.evidence.push_back(name == "finding"
                               ? "what each means is in the instrument's manual; nobody may guess"
                               : "what each means, whoever keeps the list knows");
  tell_others(name, field);
  if (column->missing > 0) {
    field.evidence.push_back(counted(column->missing, "record") + " without it will be set aside");
  }
  add_words(*column, required, field);
}

void MappingDrafter::draft_vocabulary(std::string_view name) {
  const Column* column = column_of(name);
  if (column == nullptr) return;
  FieldDraft& field = add_from(name);
  field.evidence.push_back(in_quotes(column->name) + ": " + words_shown(*column));
  const auto is_ours = [&](const DistinctText& one) {
    return reading::word_number(reading::Take::kDiamondType, one.text).has_value();
  };
  if (std::all_of(column->distinct.begin(), column->distinct.end(), is_ours)) return;
  add_words(*column, false, field);
  refuse(field, "its words are not all ours (" +
                    std::string(reading::words_for(reading::Take::kDiamondType)) + ")");
}

void MappingDrafter::draft_numbers(std::initializer_list<std::string_view> names) {
  for (const std::string_view name : names) {
    const Column* column = column_of(name);
    if (column == nullptr) continue;
    FieldDraft& field =
        out_.fields.emplace_back(number_field(name, *column, file_mark_, said_unit(*column)));
    field.from = {column->name};
    tell_others(name, field);
    if (!can_be_zero(name, out_.record) && column->numbers.least <= base::Decimal(0)) {
      refuse(field, std::string(column->numbers.least_text) + " would set its record aside");
    }
  }
}

// <weight unit="g">: the same for all of them.
std::string_view MappingDrafter::said_unit(const Column& column) const {
  for (const Column& other : columns_) {
    const bool is_beside = other.name == column.name + "/@unit";
    const bool of_all = other.distinct_count == 1 && other.filled() >= column.filled();
    if (is_beside && of_all) return other.distinct.front().text;
  }
  return {};
}

// R.2.1 beside R.2: the first component of fields that have one alone, as the reader astm names it.
bool MappingDrafter::is_first_part_alone(const Column& column) const {
  constexpr std::string_view kFirst = ".1";
  if (!column.name.ends_with(kFirst)) return false;
  const std::string_view whole =
      std::string_view(column.name).substr(0, column.name.size() - kFirst.size());
  return std::any_of(columns_.begin(), columns_.end(), [&](const Column& other) {
    return other.name == whole && other.texts == column.texts;
  });
}

std::string MappingDrafter::leftover(const Column& column) {
  if (column.name.empty()) return "a column without a name: " + column_shown(column);
  std::string name = "extra.";
  for (const char c : plain_name(column.name)) name += c == ' ' || c == '%' ? '_' : c;
  if (name.size() == 6) name += "column";
  const size_t again = ++extras_[name];
  if (again > 1) name += '_' + std::to_string(again);
  return yaml_text(name) + ": { from: " + yaml_text(column.name) + " }   # " + column_shown(column);
}

}  // namespace

MappingDraft draft_mapping(const std::vector<RawRecord>& records, std::optional<RecordKind> wanted,
                           const std::vector<std::string>& serial_hints) {
  const std::vector<Column> columns = columns_of(records);
  Roles roles = find_roles(columns, records.size(), wanted);
  return MappingDrafter(records, columns, std::move(roles)).draft(serial_hints);
}

std::vector<std::string> columns_taken(const MappingDraft& draft) {
  std::vector<std::string> taken;
  for (const FieldDraft& field : draft.fields) {
    if (field.only_offered) continue;
    for (const std::string& column : field.from) {
      if (column != kFillIn) taken.push_back(column);
    }
  }
  return taken;
}

}  // namespace girdle::draft
