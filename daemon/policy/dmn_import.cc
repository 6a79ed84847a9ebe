#include "policy/dmn_import.h"

#include <algorithm>
#include <map>
#include <utility>

#include "base/text.h"
#include "policy/xml_document.h"

namespace girdle::policy {
namespace {

using base::in_quotes;

using pugi::xml_node;

constexpr std::pair<std::string_view, std::string_view> kVersions[] = {
    {"https://www.omg.org/spec/DMN/20191111/MODEL/", "1.3"},
    {"https://www.omg.org/spec/DMN/20211108/MODEL/", "1.4"},
    {"https://www.omg.org/spec/DMN/20230324/MODEL/", "1.5"},
};

constexpr int kMaxTypeDepth = 16;  // types of types, parts of parts
constexpr int kMaxParts = 10'000;  // of all that a decision requires, lists and structures counted

// Runs of white space count as one blank, and none at the ends (10.3.1.4).
std::string plain_name(std::string_view text) {
  std::string out;
  for (const char c : base::trimmed(text)) {
    const bool space = c == ' ' || c == '\t' || c == '\n' || c == '\r';
    if (!space) {
      out += c;
    } else if (out.back() != ' ') {
      out += ' ';
    }
  }
  return out;
}

std::string name_of(xml_node node) { return plain_name(node.attribute("name").value()); }

// FEEL and S-FEEL of any version have addresses that say so; nothing said is FEEL (6.3.2).
bool is_feel(std::string_view language) {
  return language.empty() || language.find("FEEL") != std::string_view::npos ||
         language.find("feel") != std::string_view::npos;
}

// What a typeRef comes to.
struct ItemType {
  std::optional<Type> type;
  std::string allowed;
  bool is_list = false;
  xml_node parts = {};  // the definition that has components
};

class DmnImporter {
 public:
  DmnImporter(std::string_view xml, std::string_view decision)
      : xml_(xml), wanted_(plain_name(decision)) {}

  std::variant<ImportedTable, std::vector<Problem>> run() {
    if (auto problem =
            document_.read(xml_, {kMaxDmnBytes, kMaxDmnDepth, kMaxDmnNodes, kMaxDmnAttributes})) {
      return std::vector<Problem>{std::move(*problem)};
    }
    if (read_model()) {
      if (const xml_node decision = choose()) read_decision(decision);
    }
    if (!problems_.empty()) return std::move(problems_);
    return std::move(out_);
  }

 private:
  void report(xml_node node, std::string text) {
    problems_.push_back({document_.mark(node), std::move(text)});
  }

  bool is(xml_node node, std::string_view name) const {
    return XmlDocument::local_name(node) == name && XmlDocument::namespace_of(node) == model_;
  }
  xml_node child(xml_node node, std::string_view name) const {
    for (const xml_node found : node.children()) {
      if (is(found, name)) return found;
    }
    return {};
  }
  template <class Do>
  void each(xml_node node, std::string_view name, const Do& act) const {
    for (const xml_node found : node.children()) {
      if (is(found, name)) act(found);
    }
  }
  // Of the element `text` inside one that holds an expression.
  std::string expression_of(xml_node node) const {
    return std::string(base::trimmed(XmlDocument::text_of(child(node, "text"))));
  }
  Mark mark_of_text(xml_node node) const {
    const xml_node text = child(node, "text");
    const xml_node first = text ? text.first_child() : xml_node();
    return document_.mark(first ? first : text ? text : node);
  }

  bool read_model();
  xml_node choose();
  std::string listed_tables() const;
  void read_decision(xml_node decision);
  void check_language(xml_node node);

  ItemType type_of_item(xml_node item, int depth);
  ItemType type_named_in(xml_node from, std::string_view reference, int depth);
  void add_fact(const std::string& name, const ItemType& type, xml_node from, int depth);
  void add_requirement(xml_node requirement, std::string_view kind);
  void read_scope(xml_node decision, xml_node table);

  void read_input(xml_node input);
  void read_outputs(xml_node decision, xml_node table);
  void read_rule(xml_node rule, const std::vector<std::string>& annotations);
  std::string note_of(xml_node rule, const std::vector<std::string>& annotations) const;
  std::string cell_of(xml_node entry);

  std::string_view xml_;
  std::string wanted_;
  XmlDocument document_;
  std::string model_;  // the namespace of this version
  std::map<std::string, xml_node> items_;
  std::map<std::string, xml_node> by_id_;
  std::vector<xml_node> decisions_;
  std::map<std::string, std::string> allowed_;  // of facts whose type has allowed values
  int parts_ = 0;
  ImportedTable out_;
  std::vector<Problem> problems_;
};

bool DmnImporter::read_model() {
  const xml_node root = document_.root();
  model_ = XmlDocument::namespace_of(root);
  const auto version =
      std::ranges::find(kVersions, std::string_view(model_), [](const auto& v) { return v.first; });
  if (XmlDocument::local_name(root) != "definitions" || version == std::end(kVersions)) {
    report(root, "it is no DMN of the versions 1.3, 1.4 and 1.5: the outermost element is " +
                     in_quotes(root.name()) + " of the namespace " + in_quotes(model_) +
                     "; write the model out as one of them");
    return false;
  }
  for (const xml_node node : root.children()) {
    if (is(node, "itemDefinition")) items_.emplace(name_of(node), node);
    if (is(node, "decision")) decisions_.push_back(node);
    if (const auto id = node.attribute("id")) by_id_.emplace(id.value(), node);
  }
  return true;
}

std::string DmnImporter::listed_tables() const {
  std::vector<std::string> names;
  for (const xml_node decision : decisions_) {
    if (child(decision, "decisionTable")) names.push_back(in_quotes(name_of(decision)));
  }
  return names.empty() ? "the model has no decision tables"
                       : "its decision tables are " + base::listed(names);
}

xml_node DmnImporter::choose() {
  std::vector<xml_node> found;
  for (const xml_node decision : decisions_) {
    const bool fits = wanted_.empty() ? static_cast<bool>(child(decision, "decisionTable"))
                                      : name_of(decision) == wanted_;
    if (fits) found.push_back(decision);
  }
  if (found.size() == 1) return found.front();
  if (wanted_.empty()) {
    report(document_.root(), found.empty()
                                 ? listed_tables()
                                 : "say which decision (--decision NAME): " + listed_tables());
  } else {
    report(document_.root(),
           (found.empty() ? "there is no decision " : "there is more than one decision ") +
               in_quotes(wanted_) + "; " + listed_tables());
  }
  return {};
}

void DmnImporter::check_language(xml_node node) {
  const std::string_view language = node.attribute("expressionLanguage").value();
  if (!is_feel(language))
    report(node, "the expression language " + in_quotes(language) + " is not FEEL");
}

void DmnImporter::read_decision(xml_node decision) {
  const xml_node table = child(decision, "decisionTable");
  if (!table) {
    report(decision, "the decision " + in_quotes(name_of(decision)) + " is no decision table; " +
                         listed_tables());
    return;
  }
  check_language(document_.root());
  check_language(table);
  out_.decision = name_of(decision);
  TableSpec& spec = out_.spec;
  spec.mark = document_.mark(table);
  if (const auto policy = table.attribute("hitPolicy")) spec.hit_policy = policy.value();
  spec.aggregation = table.attribute("aggregation").value();
  read_scope(decision, table);
  each(table, "input", [&](xml_node input) { read_input(input); });
  read_outputs(decision, table);
  std::vector<std::string> annotations;
  each(table, "annotation",
       [&](xml_node annotation) { annotations.push_back(name_of(annotation)); });
  each(table, "rule", [&](xml_node rule) { read_rule(rule, annotations); });
}

// An itemDefinition, or an itemComponent, which has the same shape.
ItemType DmnImporter::type_of_item(xml_node item, int depth) {
  ItemType found;
  if (const xml_node reference = child(item, "typeRef")) {
    found = type_named_in(reference, XmlDocument::text_of(reference), depth + 1);
  }
  if (child(item, "itemComponent")) found.parts = item;
  if (std::string_view(item.attribute("isCollection").value()) == "true") found.is_list = true;
  if (const xml_node allowed = child(item, "allowedValues")) found.allowed = expression_of(allowed);
  return found;
}

ItemType DmnImporter::type_named_in(xml_node from, std::string_view reference, int depth) {
  std::string name = plain_name(reference);
  if (name.empty() || name == "Any") return {};
  if (depth > kMaxTypeDepth) {
    report(from, "types refer to each other more than " + std::to_string(kMaxTypeDepth) +
                     " deep, or in a circle");
    return {};
  }
  if (const size_t colon = name.find(':'); colon != std::string::npos) {
    if (!XmlDocument::namespace_of(from, std::string_view(name).substr(0, colon)).empty())
      name.erase(0, colon + 1);
  }
  if (const auto type = type_named(name)) return {.type = type, .allowed = {}};
  if (const auto item = items_.find(name); item != items_.end())
    return type_of_item(item->second, depth);
  report(from, "there is no type " + in_quotes(name) +
                   "; it is one that the model defines, or number, string, boolean, "
                   "date, time, date and time, days and time duration, years and months duration");
  return {};
}

// Structured data are facts by their parts; lists are none.
void DmnImporter::add_fact(const std::string& name, const ItemType& type, xml_node from,
                           int depth) {
  if (type.is_list || !problems_.empty()) return;
  const bool too_many = out_.facts.size() >= kMaxDmnFacts || ++parts_ > kMaxParts;
  if (too_many || depth > kMaxTypeDepth) {
    report(from, "the decision requires more than 1000 facts, or parts of parts without end");
    return;
  }
  if (!type.parts) {
    out_.facts.push_back({name, type.type});
    if (!type.allowed.empty()) allowed_[name] = type.allowed;
    return;
  }
  each(type.parts, "itemComponent", [&](xml_node part) {
    add_fact(name + '.' + name_of(part), type_of_item(part, depth), part, depth + 1);
  });
}

void DmnImporter::add_requirement(xml_node requirement, std::string_view kind) {
  const xml_node required = child(requirement, kind);
  if (!required) return;
  const std::string_view reference = required.attribute("href").value();
  const auto found =
      reference.starts_with('#') ? by_id_.find(std::string(reference.substr(1))) : by_id_.end();
  if (found == by_id_.end()) {
    report(required, "the decision requires " + in_quotes(reference) + ", which is not in this file");
    return;
  }
  const xml_node variable = child(found->second, "variable");
  const xml_node named = variable && variable.attribute("name") ? variable : found->second;
  add_fact(name_of(named), type_named_in(named, variable.attribute("typeRef").value(), 0), named,
           0);
}

// A model may leave out what a decision requires, as some modellers do; then the inputs are what is
// known.
void DmnImporter::read_scope(xml_node decision, xml_node table) {
  each(decision, "informationRequirement", [&](xml_node requirement) {
    add_requirement(requirement, "requiredInput");
    add_requirement(requirement, "requiredDecision");
  });
  for (const auto& fact : out_.facts) out_.spec.names.push_back(fact.name);
  if (child(decision, "informationRequirement")) return;
  each(table, "input", [&](xml_node input) {
    const std::string name = plain_name(expression_of(child(input, "inputExpression")));
    const bool is_name = !name.empty() &&
                         name.find_first_of("+*/()[]{}<>=@,;\"") == std::string::npos &&
                         name.find(" - ") == std::string::npos;
    if (is_name && out_.spec.names.size() < kMaxDmnFacts) out_.spec.names.push_back(name);
  });
}

void DmnImporter::read_input(xml_node input) {
  TableSpec::Input column;
  const xml_node expression = child(input, "inputExpression");
  check_language(expression);
  column.mark = expression ? mark_of_text(expression) : document_.mark(input);
  column.expression = plain_name(expression_of(expression));
  const ItemType type =
      type_named_in(expression ? expression : input, expression.attribute("typeRef").value(), 0);
  if (type.is_list || type.parts)
    report(expression, "a list or a structure cannot be tested; test its parts");
  if (type.type) column.type = type_name(*type.type);
  column.allowed_values = type.allowed;
  if (const auto fact = allowed_.find(column.expression);
      column.allowed_values.empty() && fact != allowed_.end()) {
    column.allowed_values = fact->second;
  }
  if (const xml_node values = child(input, "inputValues");
      values && !expression_of(values).empty()) {
    column.allowed_values = expression_of(values);
  }
  out_.spec.inputs.push_back(std::move(column));
}

void DmnImporter::read_outputs(xml_node decision, xml_node table) {
  const xml_node variable = child(decision, "variable");
  const ItemType whole =
      type_named_in(variable ? variable : decision, variable.attribute("typeRef").value(), 0);
  const auto outputs =
      std::ranges::count_if(table.children(), [&](xml_node node) { return is(node, "output"); });
  each(table, "output", [&](xml_node output) {
    TableSpec::Output column;
    column.mark = document_.mark(output);
    column.name = name_of(output);
    ItemType type;
    if (const auto reference = output.attribute("typeRef")) {
      type = type_named_in(output, reference.value(), 0);
    } else if (outputs == 1 && !whole.parts) {
      type = whole;
    } else if (whole.parts) {
      each(whole.parts, "itemComponent", [&](xml_node part) {
        if (name_of(part) == column.name) type = type_of_item(part, 0);
      });
    }
    if (type.type) column.type = type_name(*type.type);
    column.allowed_values = type.allowed;
    if (const xml_node values = child(output, "outputValues");
        values && !expression_of(values).empty()) {
      column.allowed_values = expression_of(values);
    }
    if (const xml_node entry = child(output, "defaultOutputEntry"))
      column.default_value = expression_of(entry);
    out_.spec.outputs.push_back(std::move(column));
  });
}

std::string DmnImporter::cell_of(xml_node entry) {
  check_language(entry);
  return expression_of(entry);
}

// Modellers write nothing into the cell of a column that does not matter; the standard has "-".
void DmnImporter::read_rule(xml_node rule, const std::vector<std::string>& annotations) {
  TableSpec::Rule row;
  row.mark = document_.mark(rule);
  each(rule, "inputEntry", [&](xml_node entry) {
    row.when.push_back(cell_of(entry));
    if (row.when.back().empty()) row.when.back() = "-";
    row.when_marks.push_back(mark_of_text(entry));
  });
  each(rule, "outputEntry", [&](xml_node entry) {
    row.then.push_back(cell_of(entry));
    row.then_marks.push_back(mark_of_text(entry));
  });
  row.note = note_of(rule, annotations);
  out_.spec.rules.push_back(std::move(row));
}

std::string DmnImporter::note_of(xml_node rule, const std::vector<std::string>& annotations) const {
  std::string note;
  size_t at = 0;
  each(rule, "annotationEntry", [&](xml_node entry) {
    const std::string text = expression_of(entry);
    const std::string name = at < annotations.size() ? annotations[at] : "";
    ++at;
    if (text.empty()) return;
    if (!note.empty()) note += "; ";
    if (annotations.size() > 1 && !name.empty()) note += name + ": ";
    note += text;
  });
  if (note.empty()) note = base::trimmed(XmlDocument::text_of(child(rule, "description")));
  return note;
}

}  // namespace

std::variant<ImportedTable, std::vector<Problem>> import_dmn(std::string_view xml,
                                                             std::string_view decision) {
  return DmnImporter(xml, decision).run();
}

std::variant<Table, std::vector<Problem>> compile(const ImportedTable& imported) {
  std::vector<KnownFact> known;
  for (const auto& fact : imported.facts) known.push_back({fact.name, fact.type});
  return Table::compile(imported.spec, known);
}

}  // namespace girdle::policy
