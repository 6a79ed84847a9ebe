// A mapping file.
#include <algorithm>

#include "base/decimal.h"
#include "base/text.h"
#include "base/time.h"
#include "config/parts.h"

namespace girdle::config {
namespace {

using model::FieldRule;
using model::Mapping;

constexpr std::string_view kRecords[] = {"reading", "declaration", "scan"};

// The kind of record decides which fields there are, so it is looked at before anything else.
std::optional<size_t> record_kind(const Node& root, const Report& report) {
  if (root.kind != Node::Kind::kMap) {
    report(root.mark, "the mapping must be a map of keys and values");
    return std::nullopt;
  }
  for (const Node::Entry& entry : root.entries) {
    if (entry.key->text != "record") continue;
    const auto word = entry.value->scalar().value_or("");
    const auto at = std::find(std::begin(kRecords), std::end(kRecords), word);
    if (at != std::end(kRecords)) return static_cast<size_t>(at - std::begin(kRecords));
    const std::string_view near = base::nearest(word, kRecords);
    report(Node::place(entry),
           "record: this version reads reading, declaration and scan" +
               (word.empty() ? "" : ", not \"" + base::excerpt(word) + "\"") +
               (near.empty() ? "" : "; did you mean \"" + std::string(near) + "\"?"));
    return std::nullopt;
  }
  report(root.mark, "the mapping needs the key \"record\": reading, declaration or scan");
  return std::nullopt;
}

class RuleReader {
 public:
  RuleReader(const KeySet& fields, const Report& report) : fields_(fields), report_(report) {}

  FieldRule read(const Text& name, const Section& section) {
    FieldRule rule;
    rule.field = name.text;
    rule.mark = name.mark;
    for (Text& column : section.texts("from")) rule.from.push_back(std::move(column.text));
    rule.has_constant = section.has("value");
    rule.constant = section.text("value");
    if (rule.has_constant) rule.constant_mark = section.mark("value");
    rule.has_words = section.has("words");
    for (auto& [theirs, ours] : section.pairs("words")) {
      check_word(name.text, ours);
      rule.words.emplace(std::move(theirs.text), std::move(ours.text));
    }
    // Only the tables of some kinds of fields have the other keys.
    if (has_key(name.text, "form")) read_time(section, rule);
    if (has_key(name.text, "decimal")) read_number(section, rule);
    if (rule.has_constant && section.sound("value")) check_constant(section, rule);
    return rule;
  }

 private:
  bool has_key(std::string_view field, std::string_view key) const {
    const Key* known = fields_.find(field);
    return known != nullptr && known->map->find(key) != nullptr;
  }

  static void read_time(const Section& section, FieldRule& rule) {
    if (section.has("form")) rule.form = section.text("form");
    rule.zone = section.text("zone");
    rule.twice = section.text("twice");
  }

  void read_number(const Section& section, FieldRule& rule) {
    if (has_key(rule.field, "unit") && section.has("unit")) rule.unit = section.text("unit");
    rule.decimal_mark = section.text("decimal").front();
    const std::string group = section.text("group");
    if (group.empty()) return;
    rule.group_mark = group.front();
    if (rule.group_mark == rule.decimal_mark) {
      report_(section.mark("group"), "group: it must be another mark than the decimal mark, \"" +
                                         std::string(1, rule.decimal_mark) + "\"");
    }
  }

  void check_word(std::string_view field, const Text& word) const {
    const Key* known = fields_.find(field);
    if (known == nullptr || known->choices.empty()) return;
    const auto& words = known->choices;
    if (std::find(words.begin(), words.end(), word.text) != words.end()) return;
    const std::string_view near = base::nearest(word.text, words);
    report_(word.mark, std::string(field) + ": it must be " + base::listed(words, "or") +
                           ", not \"" + base::excerpt(word.text) + "\"" +
                           (near.empty() ? "" : "; did you mean \"" + std::string(near) + "\"?"));
  }

  // A constant goes the way of what a document says: through the words, then to its field.
  void check_constant(const Section& section, const FieldRule& rule) const {
    const Mark& mark = section.mark("value");
    if (rule.has_words) {
      if (!rule.words.contains(rule.constant)) {
        report_(mark, "value: \"" + base::excerpt(rule.constant) + "\" is not among the words");
      }
      return;
    }
    check_word(rule.field, {rule.constant, mark});
    if (has_key(rule.field, "form")) {
      const auto form = base::TimeForm::compile(rule.form);
      if (!form) return;
      const auto time = form->parse(rule.constant, base::Zone::utc(), base::TwiceRule::kEarlier);
      if (!time) report_(mark, "value: " + time.error().text);
    }
    const bool plain = rule.decimal_mark == '.' && rule.group_mark == '\0';
    if (has_key(rule.field, "decimal") && plain && !base::Decimal::parse(rule.constant)) {
      report_(mark, "value: it must be a number, not \"" + base::excerpt(rule.constant) + "\"");
    }
    const Key* known = fields_.find(rule.field);
    if (known != nullptr && known->required && rule.constant.empty() && known->choices.empty()) {
      report_(mark, "value: " + rule.field + " has to be there, and this is an empty text");
    }
  }

  const KeySet& fields_;
  const Report& report_;
};

}  // namespace

MappingFile read_mapping(const Node& root, const Report& report) {
  const size_t before = report.count();
  const auto kind = record_kind(root, report);
  if (!kind) return {};
  const KeySet& keys = kMappingKeys[*kind];
  check(root, keys, report);
  const Section section(root, keys);
  Mapping mapping;
  mapping.file = report.file();
  mapping.record = static_cast<model::RecordKind>(*kind);
  mapping.zone = section.text("zone");
  mapping.twice = section.text("twice");
  RuleReader reader(*keys.find("fields")->map, report);
  for (const auto& [name, section_of_rule] : section.section("fields").children()) {
    const size_t before_rule = report.count();
    FieldRule rule = reader.read(name, section_of_rule);
    const bool right = report.count() == before_rule && section_of_rule.sound();
    if (right) mapping.fields.push_back(std::move(rule));
  }
  return {std::move(mapping), report.count() == before};
}

}  // namespace girdle::config
