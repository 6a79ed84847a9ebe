#include "reading/rule.h"

#include "base/text.h"

namespace girdle::reading {
namespace {

using base::input_error;
using base::Result;

base::TwiceRule twice_of(std::string_view word) {
  if (word == "earlier") return base::TwiceRule::kEarlier;
  return word == "later" ? base::TwiceRule::kLater : base::TwiceRule::kRefuse;
}

Result<std::unique_ptr<TimeRule>> compile_time(const model::FieldRule& source,
                                               const model::Mapping& mapping,
                                               std::string_view timezone) {
  auto form = base::TimeForm::compile(source.form);
  if (!form) return form.error();
  const std::string_view name = !source.zone.empty()    ? source.zone
                                : !mapping.zone.empty() ? mapping.zone
                                                        : timezone;
  auto zone = base::Zone::find(name);
  if (!zone) return zone.error();
  const auto twice = twice_of(source.twice.empty() ? mapping.twice : source.twice);
  return std::make_unique<TimeRule>(
      TimeRule{std::move(form).value(), std::move(zone).value(), twice});
}

Result<void> check_words(const Rule& rule) {
  const std::string_view known = words_for(rule.take);
  if (known.empty()) return {};
  for (const Word& word : rule.words) {
    if (word.ours.empty() && !rule.required) continue;  // "n/a" is no value
    if (word_number(rule.take, word.ours)) continue;
    std::string error = "\"";
    error += base::excerpt(word.ours) + "\" is none of " + std::string(known);
    return input_error(std::move(error));
  }
  return {};
}

}  // namespace

std::string Rule::source_name() const {
  if (constant) return "the constant of " + source.field;
  std::string name = "column ";
  for (size_t i = 0; i < source.from.size(); ++i) {
    if (i > 0) name += " with ";
    name += '"';
    name += base::excerpt(source.from[i]);
    name += '"';
  }
  return name;
}

const std::string* Rule::word(std::string_view raw) const {
  for (const Word& word : words) {
    if (word.raw == raw) return &word.ours;
  }
  return nullptr;
}

Result<Rule> compile_rule(const model::FieldRule& source, const FieldFacts& facts,
                          const model::Mapping& mapping, std::string_view timezone) {
  if (source.has_constant == !source.from.empty())
    return input_error("it needs either a column or a constant");
  if (source.from.size() > Rule::kMaxColumns) {
    return input_error("at most " + std::to_string(Rule::kMaxColumns) + " columns are joined");
  }
  Rule rule;
  rule.source = source;
  rule.take = facts.take;
  rule.required = facts.required;
  rule.field = facts.index;
  rule.constant = source.has_constant;
  rule.count = static_cast<uint8_t>(source.from.size());
  rule.has_words = source.has_words;
  for (const auto& [raw, ours] : source.words) rule.words.push_back({raw, ours});
  if (auto sound = check_words(rule); !sound) return sound.error();
  if (facts.take == Take::kExtra) rule.extra = source.field.substr(source.field.find('.') + 1);
  const auto unit = unit_of(source.field, source.unit);
  if (!unit || (facts.take != Take::kDecimal && !source.unit.empty())) {
    return input_error("the unit \"" + base::excerpt(source.unit) + "\" is none of this field's");
  }
  if (source.decimal_mark == source.group_mark) {
    return input_error("the decimal mark and the group mark are the same");
  }
  rule.number = {source.decimal_mark, source.group_mark, *unit, facts.range};
  if (facts.take == Take::kTime) {
    auto time = compile_time(source, mapping, timezone);
    if (!time) return time.error();
    rule.time = std::move(time).value();
  }
  return rule;
}

}  // namespace girdle::reading
