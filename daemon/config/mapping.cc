// A mapping file.
#include <algorithm>

#include "base/text.h"
#include "base/time.h"
#include "config/keys.h"
#include "config/load.h"
#include "model/words.h"

namespace girdle::config {
namespace {

using model::FieldRule;
using model::Mapping;
using model::RecordKind;

constexpr std::string_view kReadingFields[] = {
    "instrument", "run",      "measured_at", "stock_number", "position", "subject_kind", "finding",
    "diamond_type", "confidence", "carat",   "color",        "shape",    "table_mm",     "length_mm",
    "width_mm",   "depth_mm", "temperature_c", "humidity_pct", "operator", "note"};
constexpr std::string_view kDeclarationFields[] = {
    "stock_number", "position", "subject_kind", "identity", "carat", "color", "shape",  "table_mm",
    "length_mm",    "width_mm", "depth_mm",     "mount",    "channel", "stones", "value", "declared_at"};
constexpr std::string_view kScanFields[] = {"bench", "stock_number", "position", "scanned_at"};
constexpr std::string_view kTimes[] = {"measured_at", "declared_at", "scanned_at"};
constexpr std::string_view kNumbers[] = {"confidence", "carat",  "table_mm", "length_mm", "width_mm", "depth_mm",
                                         "temperature_c", "humidity_pct", "stones", "value"};

template <size_t N>
bool among(const std::string_view (&words)[N], std::string_view word) {
  return std::find(std::begin(words), std::end(words), word) != std::end(words);
}

std::span<const std::string_view> fields_of(RecordKind kind) {
  switch (kind) {
    case RecordKind::kReading: return kReadingFields;
    case RecordKind::kDeclaration: return kDeclarationFields;
    case RecordKind::kScan: return kScanFields;
  }
  return {};
}

std::vector<std::string_view> required_of(RecordKind kind) {
  switch (kind) {
    case RecordKind::kReading: return {"instrument", "measured_at", "finding"};
    case RecordKind::kDeclaration: return {"stock_number"};
    case RecordKind::kScan: return {"bench", "stock_number", "scanned_at"};
  }
  return {};
}

std::vector<std::string_view> units_of(std::string_view field) {
  if (field == "carat") return {"ct", "g", "mg"};
  if (field.ends_with("_mm")) return {"mm", "um", "in"};
  if (field == "temperature_c") return {"C", "F"};
  if (field == "confidence") return {"1", "percent"};
  if (field == "humidity_pct") return {"percent"};
  return {};
}

// The words that a field may hold; empty where it takes any text.
std::vector<std::string_view> words_of(std::string_view field) {
  if (field == "finding") {
    return {"natural", "laboratory_grown", "treated", "composite", "simulant", "indeterminate", "void"};
  }
  if (field == "identity") return {"natural", "laboratory_grown", "treated", "composite", "simulant"};
  if (field == "diamond_type") return {"Ia", "Ib", "IIa", "IIb"};
  if (field == "subject_kind") return {"stone", "piece", "parcel"};
  return {};
}

class MappingReader {
 public:
  MappingReader(const std::string& file, Problems& problems) : file_(file), problems_(problems) {}

  std::optional<Mapping> read(const YAML::Node& root) {
    const size_t before = problems_.size();
    Section s(root, "the mapping", keys::kMapping, file_, problems_);
    if (!s.sound()) return std::nullopt;
    mapping_.file = file_;
    if (s.text("record") == "lab_report") {
      s.problem_at("record", "this version reads reading, declaration and scan");
      return std::nullopt;
    }
    mapping_.record = static_cast<RecordKind>(s.choice("record", {"reading", "declaration", "scan"}).value_or(0));
    mapping_.zone = zone(s);
    mapping_.twice = twice(s);
    const YAML::Node fields = s.at("fields");
    if (fields.IsDefined() && !fields.IsMap()) {
      s.problem_at("fields", "it must be a map, each of our fields with where it comes from");
    } else if (fields.IsDefined()) {
      for (const auto& entry : fields) field(entry.first, entry.second);
    }
    for (const std::string_view required : required_of(mapping_.record)) {
      const bool there = std::any_of(mapping_.fields.begin(), mapping_.fields.end(),
                                     [&](const FieldRule& rule) { return rule.field == required; });
      if (!there) s.problem_at("fields", "the field \"" + std::string(required) + "\" has to be there");
    }
    if (problems_.size() > before) return std::nullopt;
    return std::move(mapping_);
  }

 private:
  std::string zone(Section& s) {
    auto name = s.text("zone");
    if (!name) return {};
    if (auto found = base::Zone::find(*name); !found) s.problem_at("zone", found.error().text);
    return *name;
  }

  std::string twice(Section& s) {
    const auto word = s.choice("twice", {"earlier", "later"});
    return word ? (*word == 0 ? "earlier" : "later") : "";
  }

  void field(const YAML::Node& name_node, const YAML::Node& node) {
    const std::string name = name_node.IsScalar() ? name_node.Scalar() : std::string();
    const auto known = fields_of(mapping_.record);
    const bool extra = name.starts_with("extra.") && name.size() > 6 && mapping_.record != RecordKind::kScan;
    if (!extra && std::find(known.begin(), known.end(), name) == known.end()) {
      const std::string_view near = base::nearest(name, known);
      problems_.push_back({file_, mark_of(name_node),
                           "there is no field \"" + base::excerpt(name) + "\"" +
                               (near.empty() ? "; there is " + base::listed(known) +
                                                   (mapping_.record == RecordKind::kScan ? "" : ", and extra.ANYTHING")
                                             : "; did you mean \"" + std::string(near) + "\"?")});
      return;
    }
    const bool again = std::any_of(mapping_.fields.begin(), mapping_.fields.end(),
                                   [&](const FieldRule& rule) { return rule.field == name; });
    if (again) problems_.push_back({file_, mark_of(name_node), "the field \"" + name + "\" is there twice"});
    Section s(node, name, keys::kFieldRule, file_, problems_);
    if (!s.sound()) return;
    FieldRule rule;
    rule.field = name;
    rule.mark = mark_of(name_node);
    source(s, rule);
    words(s, rule);
    time(s, rule);
    number(s, rule);
    mapping_.fields.push_back(std::move(rule));
  }

  void source(Section& s, FieldRule& rule) {
    if (s.has("from") == s.has("value")) {
      s.problem(s.mark(), rule.field + " needs either from (a column) or value (a constant)");
      return;
    }
    if (s.has("value")) {
      rule.has_constant = true;
      rule.constant = s.text("value").value_or("");
      return;
    }
    const YAML::Node from = s.at("from");
    if (from.IsSequence()) {
      for (const auto& column : from) {
        if (column.IsScalar()) rule.from.push_back(column.Scalar());
      }
      if (rule.from.size() != from.size() || rule.from.empty() || rule.from.size() > 8) {
        s.problem_at("from", "it must be a column, or a list of one to eight columns");
      }
    } else if (auto column = s.text("from")) {
      rule.from.push_back(std::move(*column));
    }
  }

  void words(Section& s, FieldRule& rule) {
    const auto allowed = words_of(rule.field);
    const auto check = [&](const std::string& word, const Mark& mark) {
      if (allowed.empty() || std::find(allowed.begin(), allowed.end(), word) != allowed.end()) return;
      const std::string_view near = base::nearest(word, allowed);
      s.problem(mark, rule.field + ": \"" + base::excerpt(word) + "\" is none of " + base::listed(allowed) +
                          (near.empty() ? std::string() : "; did you mean \"" + std::string(near) + "\"?"));
    };
    if (rule.has_constant) check(rule.constant, s.mark("value"));
    if (!s.has("words")) return;
    const YAML::Node words = s.at("words");
    if (!words.IsMap() || words.size() == 0) {
      s.problem_at("words", "it must be a map: the instrument's word, then ours");
      return;
    }
    rule.has_words = true;
    for (const auto& entry : words) {
      if (!entry.first.IsScalar() || !entry.second.IsScalar()) {
        s.problem(mark_of(entry.first), "words: each is the instrument's word and one of ours");
        continue;
      }
      check(entry.second.Scalar(), mark_of(entry.second));
      if (!rule.words.emplace(entry.first.Scalar(), entry.second.Scalar()).second) {
        s.problem(mark_of(entry.first), "words: \"" + base::excerpt(entry.first.Scalar()) + "\" is there twice");
      }
    }
  }

  void time(Section& s, FieldRule& rule) {
    rule.form = s.text("form").value_or("");
    rule.zone = zone(s);
    rule.twice = twice(s);
    if (!among(kTimes, rule.field)) {
      for (const char* key : {"form", "zone", "twice"}) {
        if (s.has(key)) s.problem_at(key, "only a time has it, and " + rule.field + " is none");
      }
      return;
    }
    if (auto form = base::TimeForm::compile(rule.form); !form) s.problem_at("form", form.error().text);
  }

  void number(Section& s, FieldRule& rule) {
    const bool is_number = among(kNumbers, rule.field);
    for (const char* key : {"decimal", "group"}) {
      if (s.has(key) && !is_number) s.problem_at(key, "only a number has it, and " + rule.field + " is none");
    }
    if (const auto unit = s.text("unit")) {
      const auto units = units_of(rule.field);
      rule.unit = *unit;
      if (units.empty()) {
        s.problem_at("unit", rule.field + " has no unit");
      } else if (std::find(units.begin(), units.end(), *unit) == units.end()) {
        s.problem_at("unit", "it must be " + base::listed(units, "or") + ", not \"" + base::excerpt(*unit) + "\"");
      }
    }
    if (const auto mark = s.text("decimal")) {
      if (*mark == "." || *mark == ",") {
        rule.decimal_mark = mark->front();
      } else {
        s.problem_at("decimal", "it must be \".\" or \",\"");
      }
    }
    if (const auto mark = s.text("group")) {
      if (mark->size() != 1 || std::string_view(".,' ").find(*mark) == std::string_view::npos) {
        s.problem_at("group", "it must be one of . , ' and a space");
      } else if (mark->front() == rule.decimal_mark) {
        s.problem_at("group", "it must be another mark than the decimal one");
      } else {
        rule.group_mark = mark->front();
      }
    }
  }

  const std::string& file_;
  Problems& problems_;
  Mapping mapping_;
};

}  // namespace

std::optional<Mapping> parse_mapping(const std::string& text, const std::string& file, Problems& problems) {
  const auto root = load_yaml(text, file, problems);
  return root ? MappingReader(file, problems).read(*root) : std::nullopt;
}

}  // namespace girdle::config
