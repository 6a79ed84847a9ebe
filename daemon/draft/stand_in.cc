#include "draft/stand_in.h"

namespace girdle::draft {
namespace {

// A value that this field takes, for a column or a word that is still open.
std::string any_value(const std::string& field) {
  if (field == "measured_at" || field == "scanned_at") return "1970-01-01T00:00:00Z";
  if (field == "finding") return "void";
  if (field == "identity") return "natural";
  return field == "diamond_type" ? "Ia" : "X-1";
}

model::FieldRule stand_in_rule(const FieldDraft& field) {
  model::FieldRule rule;
  rule.field = field.field;
  rule.from = field.from;
  const bool open = field.from.empty() || field.from.front() == kFillIn;
  if (open) {
    rule.from.clear();
    rule.has_constant = true;
    rule.constant = any_value(field.field);
    return rule;
  }
  for (const Setting& key : field.keys) {
    const std::string value = key.tried();
    if (key.name == "form") rule.form = value == kFillIn ? "rfc3339" : value;
    if (key.name == "unit") rule.unit = value;
    if (key.name == "match") rule.match = value;
    if (key.name == "decimal") rule.decimal_mark = value.front();
    if (key.name == "group") rule.group_mark = value.front();
  }
  rule.has_words = !field.words.empty();
  for (const WordDraft& word : field.words) {
    rule.words[word.theirs] = word.ours == kFillIn ? any_value(field.field) : word.ours;
  }
  return rule;
}

}  // namespace

model::Mapping stand_in(const MappingDraft& draft) {
  model::Mapping mapping;
  mapping.file = "the draft";
  mapping.record = draft.record;
  mapping.twice = "earlier";
  for (const FieldDraft& field : draft.fields) {
    if (!field.only_offered) mapping.fields.push_back(stand_in_rule(field));
  }
  return mapping;
}

}  // namespace girdle::draft
