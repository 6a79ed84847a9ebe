// Mappings and raw records for tests, in few words.
#pragma once

#include <girdle/reader.h>

#include <map>
#include <string>
#include <utility>
#include <vector>

#include "model/mapping.h"

namespace girdle::reading {

inline model::FieldRule from(std::string field, std::vector<std::string> columns) {
  model::FieldRule rule;
  rule.field = std::move(field);
  rule.from = std::move(columns);
  return rule;
}

inline model::FieldRule constant(std::string field, std::string value) {
  model::FieldRule rule;
  rule.field = std::move(field);
  rule.has_constant = true;
  rule.constant = std::move(value);
  return rule;
}

inline model::FieldRule words(model::FieldRule rule,
                              std::map<std::string, std::string, std::less<>> words) {
  rule.has_words = true;
  rule.words = std::move(words);
  return rule;
}

inline model::FieldRule number(model::FieldRule rule, std::string unit, char decimal = '.',
                               char group = '\0') {
  rule.unit = std::move(unit);
  rule.decimal_mark = decimal;
  rule.group_mark = group;
  return rule;
}

inline model::FieldRule time(model::FieldRule rule, std::string form, std::string zone = {},
                             std::string twice = {}) {
  rule.form = std::move(form);
  rule.zone = std::move(zone);
  rule.twice = std::move(twice);
  return rule;
}

inline model::FieldRule joined(model::FieldRule rule, std::string join) {
  rule.join = std::move(join);
  return rule;
}

inline model::FieldRule pattern(model::FieldRule rule, std::string match, std::string take = {}) {
  rule.match = std::move(match);
  rule.match_mark = {7, 20};
  rule.take = std::move(take);
  rule.take_mark = {7, 40};
  return rule;
}

inline model::FieldRule gs1(model::FieldRule rule, std::vector<std::string> identifiers) {
  rule.gs1 = std::move(identifiers);
  rule.gs1_mark = {7, 30};
  return rule;
}

inline model::FieldRule folded(model::FieldRule rule, bool letter_case, bool space) {
  rule.fold_case = letter_case;
  rule.fold_space = space;
  return rule;
}

inline model::FieldRule or_else(model::FieldRule rule, std::string value) {
  rule.default_value = std::move(value);
  rule.default_mark = {7, 60};
  return rule;
}

inline model::RecordSection section(std::vector<model::FieldTest> when,
                                    const model::Mapping& mapping) {
  return {{}, std::move(when), "", mapping.record, mapping.fields};
}

inline model::RecordSection ignored(std::vector<model::FieldTest> when, std::string why) {
  return {{}, std::move(when), std::move(why), model::RecordKind::kReading, {}};
}

inline model::Mapping sections(std::vector<model::RecordSection> sections) {
  model::Mapping mapping;
  mapping.file = "counter-1.mapping.yaml";
  mapping.sections = std::move(sections);
  return mapping;
}

// A reading of instrument A-0117: columns at, result, and those of `more`.
inline model::Mapping reading_mapping(std::vector<model::FieldRule> more = {}) {
  model::Mapping mapping;
  mapping.file = "counter-1.mapping.yaml";
  mapping.fields = {
      constant("instrument", "A-0117"), from("measured_at", {"at"}),
      words(from("finding", {"result"}),
            {{"A", "natural"}, {"B", "simulant"}, {"C", "indeterminate"}, {"-", "void"}})};
  for (model::FieldRule& rule : more) mapping.fields.push_back(std::move(rule));
  return mapping;
}

inline model::Mapping declaration_mapping(std::vector<model::FieldRule> more = {}) {
  model::Mapping mapping;
  mapping.file = "stock.mapping.yaml";
  mapping.record = model::RecordKind::kDeclaration;
  mapping.fields = {from("stock_number", {"item"})};
  for (model::FieldRule& rule : more) mapping.fields.push_back(std::move(rule));
  return mapping;
}

// Names and values, and a girdle_record over them.
class RawRecord {
 public:
  explicit RawRecord(std::vector<std::pair<std::string, std::string>> fields)
      : fields_(std::move(fields)) {
    for (const auto& [name, value] : fields_) {
      names_.push_back({name.data(), name.size()});
      values_.push_back({value.data(), value.size()});
    }
  }
  RawRecord(const RawRecord&) = delete;

  girdle_record lent(uint32_t layout = 0) const {
    return {.size = sizeof(girdle_record),
            .layout = layout,
            .offset = 10,
            .length = 5,
            .line = 2,
            .count = fields_.size(),
            .names = names_.data(),
            .values = values_.data()};
  }

 private:
  std::vector<std::pair<std::string, std::string>> fields_;
  std::vector<girdle_text> names_, values_;
};

}  // namespace girdle::reading
