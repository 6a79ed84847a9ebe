#include "labelled/label_rules.h"

#include <map>

#include "columns/text_lines.h"

namespace girdle::labelled {

std::optional<LabelRules> LabelRules::from(std::string_view text, std::string& refusal) {
  auto compiled = patterns("labels", text.empty() ? kGenericLabel : text, refusal);
  if (!compiled) return std::nullopt;
  LabelRules rules;
  for (auto& pattern : *compiled) {
    auto one = rule(std::move(pattern), refusal);
    if (!one) return std::nullopt;
    rules.rules_.push_back(std::move(*one));
  }
  if (!rules.rules_.empty()) return rules;
  refusal = "labels: at least one pattern must be there";
  return std::nullopt;
}

std::optional<LabelRules::Rule> LabelRules::rule(std::unique_ptr<const re2::RE2> pattern,
                                                 std::string& refusal) {
  Rule rule;
  const int groups = pattern->NumberOfCapturingGroups();
  const std::map<std::string, int>& by_name = pattern->NamedCapturingGroups();
  const auto label = by_name.find("label");
  const auto value = by_name.find("value");
  if (groups == 2 && by_name.empty()) {
    rule.label = 1;
    rule.value = 2;
  } else if (groups == 2 && label != by_name.end() && value != by_name.end()) {
    rule.label = label->second;
    rule.value = value->second;
  } else if (groups > 0 && by_name.size() == static_cast<size_t>(groups)) {
    for (const auto& [group, name] : pattern->CapturingGroupNames())
      rule.names.emplace_back(group, name);
  } else {
    refusal = "labels: " + columns::excerpt(pattern->pattern()) +
              " must have two groups, for label and value, or only groups with the names of "
              "fields; (?:…) groups without taking";
    return std::nullopt;
  }
  rule.pattern = std::move(pattern);
  return rule;
}

const LabelRules::Found* LabelRules::find(std::string_view line) {
  for (const Rule& rule : rules_) {
    groups_.assign(static_cast<size_t>(rule.pattern->NumberOfCapturingGroups()) + 1, {});
    if (!matches(*rule.pattern, line, groups_)) continue;
    take(rule);
    if (!found_.empty()) return &found_;
  }
  return nullptr;
}

void LabelRules::take(const Rule& rule) {
  found_.clear();
  if (rule.label != 0) {
    const std::string_view label = columns::without_outer_blanks(group(rule.label));
    if (!label.empty()) found_.emplace_back(label, group(rule.value));
  }
  for (const auto& [index, name] : rule.names) {
    if (groups_[static_cast<size_t>(index)].data() != nullptr)
      found_.emplace_back(name, group(index));
  }
}

std::string_view LabelRules::group(int index) const {
  const re2::StringPiece& piece = groups_[static_cast<size_t>(index)];
  if (piece.data() == nullptr) return {};
  return columns::without_outer_blanks({piece.data(), piece.size()});
}

}  // namespace girdle::labelled
