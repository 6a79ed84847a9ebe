// decide: a decision table by itself, on facts as JSON.
#include <simdjson.h>

#include <algorithm>
#include <fstream>
#include <iostream>
#include <ostream>

#include "base/json.h"
#include "base/text.h"
#include "casework/facts.h"
#include "cli/commands.h"
#include "config/load.h"
#include "policy/dmn_import.h"
#include "policy/table.h"
#include "service/house_builder.h"

namespace girdle::cli {
namespace {

// Facts as JSON: numbers and decimal texts, strings, booleans, null; dates, times and durations as texts; or
// {"type": …, "value": …} as in the published check values.
base::Result<policy::Value> value_of(simdjson::dom::element element, const std::string& name,
                                     std::optional<policy::Type> type) {
  const auto wrong = [&](const std::string& why) { return base::input_error("the fact \"" + name + "\" " + why); };
  switch (element.type()) {
    case simdjson::dom::element_type::NULL_VALUE: return policy::Value();
    case simdjson::dom::element_type::BOOL: return policy::Value(bool(element));
    case simdjson::dom::element_type::INT64: return policy::Value(base::Decimal(int64_t(element)));
    case simdjson::dom::element_type::UINT64:
    case simdjson::dom::element_type::DOUBLE: {
      const auto number = base::Decimal::parse(simdjson::minify(element));
      if (!number) return wrong("is a number that is out of bounds; give it as a text of digits");
      return policy::Value(*number);
    }
    case simdjson::dom::element_type::STRING: {
      const std::string_view text = element.get_string().value_unsafe();
      if (type) {
        if (auto value = policy::value_of_text(text, *type)) return *value;
      }
      return policy::Value(std::string(text));
    }
    case simdjson::dom::element_type::OBJECT: {
      std::string_view kind, text;
      if (element["type"].get(kind) != simdjson::SUCCESS) return wrong("is an object without a type");
      if (kind == "null") return policy::Value();
      const auto named = policy::type_named(kind);
      if (!named || element["value"].get(text) != simdjson::SUCCESS) {
        return wrong("has a type that no table has, or no value as a text");
      }
      if (auto value = policy::value_of_text(text, *named)) return *value;
      return wrong("is no " + std::string(kind));
    }
    case simdjson::dom::element_type::ARRAY: return wrong("is a list; facts are single values");
  }
  return wrong("is of an unknown kind");
}

constexpr int kMaxFactDepth = 16;

// {"stone":{"carat":0.5}} is the fact stone.carat.
base::Result<void> add_facts(simdjson::dom::element element, const policy::Table& table, const std::string& prefix,
                             int depth, policy::Facts& facts) {
  simdjson::dom::object object;
  if (element.get(object) != simdjson::SUCCESS) return base::input_error("it is no JSON object of facts");
  if (depth > kMaxFactDepth) return base::input_error("objects stand too deep in each other");
  for (const auto field : object) {
    const std::string name = prefix + std::string(field.key);
    if (field.value.is_object() && !field.value["type"].is_string()) {
      if (auto added = add_facts(field.value, table, name + '.', depth + 1, facts); !added) return added;
      continue;
    }
    std::optional<policy::Type> type;
    for (size_t i = 0; i < table.fact_names().size(); ++i) {
      if (table.fact_names()[i] == name) type = table.fact_types()[i];
    }
    auto value = value_of(field.value, name, type);
    if (!value) return value.error();
    facts[name] = std::move(value).value();
  }
  return {};
}

base::Result<policy::Facts> facts_of(simdjson::dom::element element, const policy::Table& table) {
  policy::Facts facts;
  if (auto added = add_facts(element, table, "", 1, facts); !added) return added.error();
  return facts;
}

// Of a policy's table: names that girdled hands over, and all that it always knows.
base::Result<void> check_facts(const policy::Facts& facts, const policy::Table& table, casework::FactSet known) {
  const std::span<const casework::Fact> all = casework::facts_of(known);
  const std::vector<std::string_view> names = casework::fact_names(known);
  for (const auto& [name, value] : facts) {
    if (std::ranges::find(names, name) != names.end()) continue;
    const std::string_view near = base::nearest(name, names);
    return base::input_error(base::in_quotes(name) + " is no fact of this table" +
                             (near.empty() ? "" : "; did you mean " + base::in_quotes(near) + "?"));
  }
  for (const std::string& asked : table.fact_names()) {
    const auto fact = std::ranges::find(all, asked, &casework::Fact::name);
    if (fact == all.end() || !fact->unknown_when.empty() || facts.contains(asked)) continue;
    return base::input_error("the fact " + base::in_quotes(asked) + " is missing; girdled always knows it");
  }
  return {};
}

// Every JSON value of the input, one after another: one object over many lines, or one a line.
int decide_all(Screen& screen, const policy::Table& table, std::optional<casework::FactSet> known, const std::string& name,
               const std::string& text, bool explain) {
  simdjson::dom::parser parser;
  simdjson::dom::document_stream stream;
  const size_t batch = std::max<size_t>(text.size() + simdjson::SIMDJSON_PADDING, 1 << 20);
  if (parser.parse_many(text.data(), text.size(), batch).get(stream) != simdjson::SUCCESS) {
    return fail(screen, base::input_error(name + ": it is no JSON"));
  }
  int number = 0;
  bool any_error = false;
  for (auto at = stream.begin(); at != stream.end(); ++at) {
    ++number;
    const auto say = [&](const std::string& why) {
      screen.err << "girdled: " << name << ": fact set " << number << ": " << why << '\n';
      any_error = true;
    };
    simdjson::dom::element element;
    if (const auto error = (*at).get(element); error != simdjson::SUCCESS) {
      say(simdjson::error_message(error));
      return 1;
    }
    auto facts = facts_of(element, table);
    if (facts && known) {
      if (auto checked = check_facts(*facts, table, *known); !checked) facts = checked.error();
    }
    if (!facts) {
      say(facts.error().text);
      continue;
    }
    std::string out;
    base::JsonWriter json(out);
    if (explain) {
      policy::write_json(json, table.explain(*facts));
    } else {
      policy::write_json(json, table.evaluate(*facts));
    }
    screen.out << out << '\n';
  }
  if (stream.truncated_bytes() > 0) {
    screen.err << "girdled: " << name << ": the last fact set is cut off\n";
    any_error = true;
  }
  return any_error ? 1 : 0;
}

using Compiled = std::variant<policy::Table, config::Problems>;

Compiled table_of_yaml(const std::filesystem::path& file) {
  const config::LoadedTable loaded = config::load_table(file);
  config::Problems problems = loaded.problems;
  auto compiled = policy::Table::compile(service::table_spec(loaded.table));
  const auto* wrong = std::get_if<std::vector<policy::Problem>>(&compiled);
  if (wrong != nullptr) service::tell(loaded.table, *wrong, problems);
  if (wrong == nullptr && problems.empty()) return std::get<policy::Table>(std::move(compiled));
  config::put_in_order(problems, file.string());
  return problems;
}

config::Problems in_file(const std::filesystem::path& file, const std::vector<policy::Problem>& found) {
  config::Problems problems;
  for (const policy::Problem& problem : found) {
    problems.push_back({file.string(), {problem.mark.line, problem.mark.column}, problem.text});
  }
  config::put_in_order(problems, file.string());
  return problems;
}

Compiled table_of_dmn(const std::filesystem::path& file, std::string_view xml, const std::string& decision) {
  const auto imported = policy::import_dmn(xml, decision);
  if (const auto* wrong = std::get_if<std::vector<policy::Problem>>(&imported)) return in_file(file, *wrong);
  auto compiled = policy::compile(std::get<policy::ImportedTable>(imported));
  if (const auto* wrong = std::get_if<std::vector<policy::Problem>>(&compiled)) return in_file(file, *wrong);
  return std::get<policy::Table>(std::move(compiled));
}

// A table of a house's policy, over the facts that girdled hands to it.
struct PolicyTable {
  std::string_view name;
  std::optional<config::DecisionTable> config::Policy::*table;
  casework::FactSet facts;
};
constexpr PolicyTable kPolicyTables[] = {{"table", &config::Policy::table, casework::FactSet::kEvidence},
                                         {"required", &config::Policy::required_table, casework::FactSet::kStone},
                                         {"routing", &config::Policy::routing, casework::FactSet::kAnswer}};

// A policy has a name at its top, which no table has.
bool is_policy(std::string_view text) { return text.starts_with("name:") || text.find("\nname:") != std::string_view::npos; }

Compiled table_of_policy(const std::filesystem::path& file, const std::string& wanted, std::optional<casework::FactSet>& facts) {
  config::LoadedPolicy loaded = config::load_policy(file);
  const auto named = std::ranges::find(kPolicyTables, wanted.empty() ? "table" : wanted, &PolicyTable::name);
  if (named == std::end(kPolicyTables) || !(loaded.policy.*named->table)) {
    loaded.problems.push_back({file.string(), {}, "this policy has no table " + base::in_quotes(wanted.empty() ? "table" : wanted) +
                                                      "; --decision is table, required or routing"});
  }
  if (!loaded.problems.empty()) return loaded.problems;
  const config::DecisionTable& table = *(loaded.policy.*named->table);
  facts = named->facts;
  auto compiled = policy::Table::compile(service::table_spec(table), casework::known_facts(named->facts));
  const auto* wrong = std::get_if<std::vector<policy::Problem>>(&compiled);
  if (wrong == nullptr) return std::get<policy::Table>(std::move(compiled));
  config::Problems problems;
  service::tell(table, *wrong, problems);
  return problems;
}

// XML begins with "<", which no table in YAML or JSON does.
bool is_xml(std::string_view text) {
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  return base::trimmed(text).starts_with('<');
}

// `facts` is set for a policy's table.
Compiled load(const std::filesystem::path& file, const std::string& decision, std::optional<casework::FactSet>& facts) {
  const auto text = config::Disk().read(file, policy::kMaxDmnBytes);
  if (text && is_xml(*text)) return table_of_dmn(file, *text, decision);
  if (text && is_policy(*text)) return table_of_policy(file, decision, facts);
  if (!text || decision.empty()) return table_of_yaml(file);  // which says why it cannot be read
  return config::Problems{{file.string(), {}, "--decision is for models in DMN XML; this file has one table"}};
}

}  // namespace

int decide(Screen& screen, const std::filesystem::path& table_file, const std::string& decision,
           const std::filesystem::path& input, bool explain) {
  std::optional<casework::FactSet> known;
  const Compiled table = load(table_file, decision, known);
  if (const auto* problems = std::get_if<config::Problems>(&table)) {
    for (const config::Problem& problem : *problems) screen.err << config::format(problem) << '\n';
    return 1;
  }
  std::ifstream file;
  if (input != "-") file.open(input, std::ios::binary);
  if (input != "-" && !file) return fail(screen, base::input_error("the facts " + input.string() + " cannot be read"));
  std::istream& from = input == "-" ? std::cin : file;
  std::string text((std::istreambuf_iterator<char>(from)), std::istreambuf_iterator<char>());
  text.reserve(text.size() + simdjson::SIMDJSON_PADDING);
  return decide_all(screen, std::get<policy::Table>(table), known, input.string(), text, explain);
}

}  // namespace girdle::cli
