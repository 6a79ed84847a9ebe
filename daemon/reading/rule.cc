#include "reading/rule.h"

#include <algorithm>

#include "base/gs1_identifier.h"
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

Result<void> check_source(const model::FieldRule& source, const FieldFacts& facts) {
  if (source.has_constant == !source.from.empty())
    return input_error("it needs either a column or a constant");
  if (source.from.size() > Rule::kMaxColumns) {
    return input_error("at most " + std::to_string(Rule::kMaxColumns) + " columns are joined");
  }
  if (source.has_constant && !source.match.empty()) {
    return input_error("a constant is what it is: a pattern is for what is taken from columns");
  }
  if (source.default_value.empty()) return {};
  if (source.has_constant) return input_error("a constant needs no default");
  if (!facts.may_have_default) {
    return input_error("it has no default; a constant says openly what no record gave");
  }
  return {};
}

Result<void> add_words(const model::FieldRule& source, Rule& rule) {
  rule.folding = {source.fold_case, source.fold_space};
  rule.folds = source.fold_case || source.fold_space;
  if (rule.folds && !source.has_words) return input_error("fold goes with words");
  for (const auto& [raw, ours] : source.words) {
    std::string key;
    base::fold(raw, rule.folding, key);
    const auto same = std::find_if(rule.words.begin(), rule.words.end(),
                                   [&](const Word& word) { return word.key == key; });
    if (same != rule.words.end()) {
      return input_error("the words \"" + base::excerpt(same->raw) + "\" and \"" +
                         base::excerpt(raw) + "\" are one after folding");
    }
    rule.words.push_back({raw, std::move(key), ours});
  }
  return {};
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

Result<void> add_number(const model::FieldRule& source, const FieldFacts& facts, Rule& rule) {
  const auto unit = unit_of(source.field, source.unit);
  if (!unit || (facts.take != Take::kDecimal && !source.unit.empty())) {
    return input_error("the unit \"" + base::excerpt(source.unit) + "\" is none of this field's");
  }
  if (source.decimal_mark == source.group_mark) {
    return input_error("the decimal mark and the group mark are the same");
  }
  rule.number = {source.decimal_mark, source.group_mark, *unit, facts.range};
  return {};
}

// Their faults have a place of their own.
bool identifiers_are_right(const model::FieldRule& source, const FieldFacts& facts,
                           Faults& faults) {
  const size_t before = faults.size();
  const auto wrong = [&](std::string text) {
    faults.push_back({source.gs1_mark, "gs1: " + std::move(text)});
  };
  if (!source.gs1.empty() && source.has_constant)
    wrong("a constant is what it is: an identifier is for what is taken from columns");
  for (const std::string& code : source.gs1) {
    const auto known = base::Gs1Identifier::named(code);
    if (!known) {
      wrong("\"" + base::excerpt(code) + "\" is no application identifier of GS1");
    } else if (facts.take == Take::kDecimal && known->has_implied_decimal_point()) {
      wrong(base::gs1_in_brackets(code) +
            " has a decimal point that its data do not show, so it gives no number");
    }
  }
  return faults.size() == before;
}

// All but the pattern, whose faults have places of their own.
Result<Rule> compile_parts(const model::FieldRule& source, const FieldFacts& facts,
                           const model::Mapping& mapping, std::string_view timezone) {
  if (auto sound = check_source(source, facts); !sound) return sound.error();
  Rule rule;
  rule.source = source;
  rule.take = facts.take;
  rule.required = facts.required;
  rule.field = facts.index;
  rule.constant = source.has_constant;
  rule.has_default = !source.default_value.empty();
  rule.count = static_cast<uint8_t>(source.from.size());
  rule.has_words = source.has_words;
  if (auto sound = add_words(source, rule); !sound) return sound.error();
  if (auto sound = check_words(rule); !sound) return sound.error();
  if (facts.take == Take::kExtra) rule.extra = source.field.substr(source.field.find('.') + 1);
  if (auto sound = add_number(source, facts, rule); !sound) return sound.error();
  if (facts.take == Take::kTime) {
    auto time = compile_time(source, mapping, timezone);
    if (!time) return time.error();
    rule.time = std::move(time).value();
  }
  return rule;
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

const std::string* Rule::word(std::string_view raw, std::string& scratch) const {
  if (folds) {
    scratch.clear();
    base::fold(raw, folding, scratch);
    raw = scratch;
  }
  for (const Word& word : words) {
    if (word.key == raw) return &word.ours;
  }
  return nullptr;
}

std::optional<Rule> compile_rule(const model::FieldRule& source, const FieldFacts& facts,
                                 const model::Mapping& mapping, std::string_view timezone,
                                 Faults& faults) {
  auto rule = compile_parts(source, facts, mapping, timezone);
  if (!rule) faults.push_back({source.mark, source.field + ": " + rule.error().text});
  std::unique_ptr<Pattern> pattern;
  if (!source.match.empty()) pattern = Pattern::compile(source, faults);
  if (source.match.empty() && !source.take.empty()) {
    faults.push_back({source.take_mark, "take: it goes with  match, a pattern"});
  }
  const bool has_identifiers = identifiers_are_right(source, facts, faults);
  const bool right = rule && has_identifiers && (pattern || source.match.empty()) &&
                     (source.take.empty() || pattern);
  if (!right) return std::nullopt;
  rule->pattern = std::move(pattern);
  rule->translates = rule->has_words || rule->pattern || !source.gs1.empty();
  return std::move(rule).value();
}

}  // namespace girdle::reading
