// A mapping file.
#include <algorithm>
#include <map>

#include "base/decimal.h"
#include "base/fold.h"
#include "base/text.h"
#include "base/time.h"
#include "config/open_mark.h"
#include "config/parts.h"

namespace girdle::config {
namespace {

using model::FieldRule;
using model::kRecordKindNames;
using model::Mapping;
using model::RecordSection;

// The kind of record decides which fields there are, so it is looked at before anything else.
std::optional<size_t> record_kind(const Node& map, const Report& report, std::string_view missing) {
  for (const Node::Entry& entry : map.entries) {
    if (entry.key->text != "record") continue;
    const auto word = entry.value->scalar().value_or("");
    const auto at = std::find(std::begin(kRecordKindNames), std::end(kRecordKindNames), word);
    if (at != std::end(kRecordKindNames)) return static_cast<size_t>(at - std::begin(kRecordKindNames));
    const std::string_view near = base::nearest(word, kRecordKindNames);
    report(Node::place(entry),
           "record: this version reads reading, declaration and scan" +
               (word.empty() ? "" : ", not \"" + base::excerpt(word) + "\"") +
               (near.empty() ? "" : "; did you mean \"" + std::string(near) + "\"?"));
    return std::nullopt;
  }
  report(map.mark, std::string(missing));
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
    read_join(section, rule);
    rule.has_constant = section.has("value");
    rule.constant = section.text("value");
    if (rule.has_constant) rule.constant_mark = section.mark("value");
    rule.has_words = section.has("words");
    for (Text& code : section.texts("gs1")) rule.gs1.push_back(std::move(code.text));
    if (section.has("gs1")) rule.gs1_mark = section.mark("gs1");
    read_pattern(section, rule);
    read_words(section, rule);
    if (has_key(name.text, "default")) read_default(section, rule);
    // Only the tables of some kinds of fields have the other keys.
    if (has_key(name.text, "form")) read_time(section, rule);
    if (has_key(name.text, "decimal")) read_number(section, rule);
    if (rule.has_constant && section.sound("value")) check_constant(section, rule);
    if (!rule.default_value.empty())
      check_plain("default", rule.default_value, rule.default_mark, rule);
    return rule;
  }

 private:
  bool has_key(std::string_view field, std::string_view key) const {
    const Key* known = fields_.find(field);
    const KeySet* rule = known != nullptr ? known->map : fields_.open_map;
    return rule != nullptr && rule->find(key) != nullptr;
  }

  void read_join(const Section& section, FieldRule& rule) const {
    rule.join = section.text("join");
    if (section.has("join") && rule.from.size() == 1 && section.sound("from")) {
      report_(section.mark("join"), "join: it stands between several raw fields, and this is one");
    }
  }

  // Whether the pattern is one, and has these groups, is for reading/ to say.
  static void read_pattern(const Section& section, FieldRule& rule) {
    rule.match = section.text("match");
    if (section.has("match")) rule.match_mark = section.mark("match");
    rule.take = section.text("take");
    if (section.has("take")) rule.take_mark = section.mark("take");
  }

  void read_words(const Section& section, FieldRule& rule) const {
    for (const Text& what : section.texts("fold")) {
      (what.text == "case" ? rule.fold_case : rule.fold_space) = true;
    }
    std::map<std::string, std::string> folded;  // to the word as it was written
    for (auto& [theirs, ours] : section.pairs("words")) {
      if (ours.text == kFillIn) {
        report_open_word(rule.field, theirs, ours);
      } else if (!ours.text.empty() || is_required(rule.field)) {
        check_word(rule.field, ours);
      }
      const auto [same, fresh] = folded.emplace(folded_word(rule, theirs.text), theirs.text);
      if (!fresh) {
        report_(theirs.mark, "words: \"" + base::excerpt(theirs.text) + "\" and \"" +
                                 base::excerpt(same->second) +
                                 "\" are one word after folding; keep one of them");
      }
      rule.words.emplace(std::move(theirs.text), std::move(ours.text));
    }
  }

  static std::string folded_word(const FieldRule& rule, std::string_view word) {
    std::string out;
    base::fold(word, {rule.fold_case, rule.fold_space}, out);
    return out;
  }

  static void read_default(const Section& section, FieldRule& rule) {
    if (!section.has("default")) return;
    rule.default_value = section.text("default");
    rule.default_mark = section.mark("default");
  }

  bool is_required(std::string_view field) const {
    const Key* known = fields_.find(field);
    return known != nullptr && known->required;
  }

  bool has_choices(std::string_view field) const {
    const Key* known = fields_.find(field);
    return known != nullptr && !known->choices.empty();
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

  // A draft leaves to a person what the instrument's words mean.
  void report_open_word(std::string_view field, const Text& theirs, const Text& ours) const {
    const Key* known = fields_.find(field);
    const bool closed = known != nullptr && !known->choices.empty();
    report_(ours.mark, std::string(field) + ": what \"" + base::excerpt(theirs.text) +
                           "\" means is still to be filled in" +
                           (closed ? ": " + base::listed(known->choices, "or") : ""));
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
      const std::string word = folded_word(rule, rule.constant);
      const bool known = std::any_of(rule.words.begin(), rule.words.end(), [&](const auto& pair) {
        return folded_word(rule, pair.first) == word;
      });
      if (!known) {
        report_(mark, "value: \"" + base::excerpt(rule.constant) + "\" is not among the words");
      }
      return;
    }
    check_plain("value", rule.constant, mark, rule);
    if (has_key(rule.field, "form")) {
      const auto form = base::TimeForm::compile(rule.form);
      if (!form) return;
      const auto time = form->parse(rule.constant, base::Zone::utc(), base::TwiceRule::kEarlier);
      if (!time) report_(mark, "value: " + time.error().text);
    }
    if (is_required(rule.field) && rule.constant.empty() && !has_choices(rule.field)) {
      report_(mark, "value: " + rule.field + " has to be there, and this is an empty text");
    }
  }

  // A text that goes to its field as it is.
  void check_plain(std::string_view key, const std::string& text, const Mark& mark,
                   const FieldRule& rule) const {
    check_word(rule.field, {text, mark});
    const bool plain = rule.decimal_mark == '.' && rule.group_mark == '\0';
    if (has_key(rule.field, "decimal") && plain && !base::Decimal::parse(text)) {
      report_(mark,
              std::string(key) + ": it must be a number, not \"" + base::excerpt(text) + "\"");
    }
  }

  const KeySet& fields_;
  const Report& report_;
};

// The rules that are right.
std::vector<FieldRule> read_rules(const Section& record, const KeySet& keys, const Report& report) {
  std::vector<FieldRule> rules;
  RuleReader reader(*keys.find("fields")->map, report);
  for (const auto& [name, section] : record.section("fields").children()) {
    const size_t before = report.count();
    FieldRule rule = reader.read(name, section);
    const bool right = report.count() == before && section.sound();
    if (right) rules.push_back(std::move(rule));
  }
  return rules;
}

class SectionReader {
 public:
  explicit SectionReader(const Report& report) : report_(report) {}

  // Nothing where it cannot be told what becomes of its records.
  std::optional<RecordSection> read(const Node& node) const {
    if (node.kind != Node::Kind::kMap) {
      report_(node.mark, "records: each must be a section, a map of keys and values");
      return std::nullopt;
    }
    const auto kind = section_kind(node);
    if (!kind) return std::nullopt;
    const KeySet& keys = kSectionKeys[*kind];
    check(node, keys, report_);
    const Section section(node, keys);
    RecordSection out;
    out.mark = node.mark;
    read_tests(section, out);
    if (*kind == kIgnored) {
      out.ignore = section.text("ignore");
    } else {
      out.record = static_cast<model::RecordKind>(*kind);
      out.fields = read_rules(section, keys, report_);
    }
    return out;
  }

 private:
  static constexpr size_t kIgnored = 3;  // in kSectionKeys

  std::optional<size_t> section_kind(const Node& node) const {
    const Node* ignore = value_of(node, "ignore");
    if (ignore == nullptr) {
      return record_kind(node, report_,
                         "a section needs the key \"record\" (reading, declaration or scan), or "
                         "\"ignore\" (why its records are no results)");
    }
    if (value_of(node, "record") == nullptr) return kIgnored;
    report_(ignore->mark, "ignore: a section makes records, or ignores them, and not both");
    return std::nullopt;
  }

  // Texts are compared without the white space at their ends, so a test with some never holds.
  void read_tests(const Section& section, RecordSection& out) const {
    for (auto& [field, texts] : section.tests("when")) {
      model::FieldTest test{std::move(field.text), {}};
      for (Text& text : texts) {
        if (base::trimmed(text.text) != text.text) {
          report_(text.mark, "when: the white space at the ends of \"" + base::excerpt(text.text) +
                                 "\" is never there: raw texts lose theirs");
        }
        test.texts.push_back(std::move(text.text));
      }
      out.when.push_back(std::move(test));
    }
  }

  const Report& report_;
};

// Whether each record that `b` takes is taken by `a` already.
bool covers(const RecordSection& a, const RecordSection& b) {
  return std::all_of(a.when.begin(), a.when.end(), [&](const model::FieldTest& wide) {
    return std::any_of(b.when.begin(), b.when.end(), [&](const model::FieldTest& narrow) {
      if (narrow.field != wide.field) return false;
      return std::all_of(narrow.texts.begin(), narrow.texts.end(), [&](const std::string& text) {
        return std::find(wide.texts.begin(), wide.texts.end(), text) != wide.texts.end();
      });
    });
  });
}

// Only of sections that are right one by one.
void check_together(const std::vector<RecordSection>& sections, const Node& list,
                    const Report& report) {
  for (size_t later = 0; later < sections.size(); ++later) {
    for (size_t earlier = 0; earlier < later; ++earlier) {
      if (!covers(sections[earlier], sections[later])) continue;
      report(sections[later].mark, "records: this section takes nothing: the one in line " +
                                       std::to_string(sections[earlier].mark.line) +
                                       " takes all that it would take");
      break;
    }
  }
  const bool makes =
      std::any_of(sections.begin(), sections.end(),
                  [](const RecordSection& section) { return section.ignore.empty(); });
  if (!makes) report(list.mark, "records: all sections ignore their records, and none makes any");
}

void read_sections(const Node& root, const Report& report, Mapping& mapping) {
  const Node& list = *value_of(root, "records");
  const size_t before = report.count();
  for (const Node* item : list.items) {
    if (auto section = SectionReader(report).read(*item))
      mapping.sections.push_back(std::move(*section));
  }
  if (report.count() == before && !list.items.empty())
    check_together(mapping.sections, list, report);
}

}  // namespace

MappingFile read_mapping(const Node& root, const Report& report) {
  const size_t before = report.count();
  if (root.kind != Node::Kind::kMap) {
    report(root.mark, "the mapping must be a map of keys and values");
    return {};
  }
  const bool sectioned = value_of(root, "records") != nullptr;
  const auto kind = sectioned ? std::optional(kMappingKeys.size() - 1)
                              : record_kind(root, report,
                                            "the mapping needs the key \"record\": reading, "
                                            "declaration or scan");
  if (!kind) return {};
  const KeySet& keys = kMappingKeys[*kind];
  check(root, keys, report);
  const Section section(root, keys);
  Mapping mapping;
  mapping.file = report.file();
  mapping.zone = section.text("zone");
  mapping.twice = section.text("twice");
  if (sectioned) {
    read_sections(root, report, mapping);
  } else {
    mapping.record = static_cast<model::RecordKind>(*kind);
    mapping.fields = read_rules(section, keys, report);
  }
  return {std::move(mapping), report.count() == before};
}

}  // namespace girdle::config
