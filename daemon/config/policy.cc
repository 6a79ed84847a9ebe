// A policy file, and a decision table: by itself, or inside a policy. What the cells say is
// compiled elsewhere; each keeps its place.
#include <algorithm>

#include "config/parts.h"

namespace girdle::config {
namespace {

// Whether a column is one, and no stand-in.
bool stands(const TableInput& input) { return input.expression.mark.line != 0; }
bool stands(const TableOutput& output) { return output.name.mark.line != 0; }

TableInput input_of(const Section& input) {
  if (!input.sound("expression")) return {};
  return {.expression = input.located("expression"),
          .type = input.text("type"),
          .allowed_values = input.located("allowed_values"),
          .required = input.flag("required")};
}

// A name may be left out, but not where an unknown key may be the one that was meant.
bool is_named(const Section& output) {
  return output.sound("name") && (output.has("name") || !output.has_unknown_keys());
}

TableOutput output_of(const Section& output) {
  if (!is_named(output)) return {};
  return {.name = output.located("name"),
          .type = output.text("type"),
          .allowed_values = output.located("allowed_values"),
          .default_value = output.located("default")};
}

// The cells of a rule under one of its keys. What must be said of a stand-in is nothing but that
// its own text does not suit its own column.
template <class Column>
std::vector<Text> cells_of(const std::optional<Section>& rule, std::string_view key,
                           const std::vector<Column>& columns, const Text& stand_in) {
  const auto items = rule ? rule->text_items(key) : std::vector<std::optional<Text>>();
  if (columns.empty() || items.empty()) return std::vector<Text>(columns.size(), stand_in);
  std::vector<Text> cells;
  for (const std::optional<Text>& item : items) {
    const size_t at = cells.size();
    const bool counts = item && (at >= columns.size() || stands(columns[at]));
    cells.push_back(counts ? *item : stand_in);
  }
  return cells;
}

TableRule rule_of(const std::optional<Section>& rule, const DecisionTable& table) {
  TableRule out;
  out.when = cells_of(rule, "when", table.inputs, {"-", {}});
  out.then = cells_of(rule, "then", table.outputs, {"0", {}});
  if (!rule) return out;
  out.note = rule->text("note");
  out.mark = rule->mark();
  return out;
}

// What is said of a table as a whole rests on all of these.
bool heads_are_whole(const Section& section) {
  if (section.has_unknown_keys() || !section.sound("hit_policy") || !section.sound("aggregation")) {
    return false;
  }
  const auto outputs = section.map_items("outputs");
  const auto is_whole = [](const std::optional<Section>& output) {
    return output && !output->has_unknown_keys() && output->sound("name") &&
           output->sound("allowed_values") && output->sound("default");
  };
  return !outputs.empty() && std::all_of(outputs.begin(), outputs.end(), is_whole);
}

DecisionTable table_of(const Section& section, const std::string& file) {
  DecisionTable table;
  table.file = file;
  table.whole = section.sound();
  const bool heads = heads_are_whole(section);
  table.hit_policy = section.located("hit_policy");
  if (!heads) table.hit_policy.mark = {};
  if (heads) table.aggregation = section.located("aggregation");
  for (const auto& input : section.map_items("inputs")) {
    table.inputs.push_back(input ? input_of(*input) : TableInput());
  }
  for (const auto& output : section.map_items("outputs")) {
    table.outputs.push_back(output ? output_of(*output) : TableOutput());
  }
  for (const auto& rule : section.map_items("rules")) table.rules.push_back(rule_of(rule, table));
  // Not the rules are missing, but what is right of them.
  if (table.rules.empty()) table.rules.push_back(rule_of({}, table));
  return table;
}

}  // namespace

DecisionTable read_table(const Node& root, const Report& report) {
  check(root, kTableKeys, report);
  return table_of(Section(root, kTableKeys), report.file());
}

Policy read_policy(const Node& root, const Report& report) {
  check(root, kPolicyKeys, report);
  const Section section(root, kPolicyKeys);
  Policy policy;
  policy.file = report.file();
  policy.name = section.text("name");
  policy.version = section.text("version");
  const Section parameters = section.section("parameters");
  policy.required = static_cast<int>(parameters.whole("required"));
  policy.accept_unknown_scope = parameters.flag("accept_unknown_scope");
  policy.reopen_after = section.duration("reopen_after");
  policy.scan_fresh = section.duration("scan_fresh");
  for (auto& [code, text] : section.pairs("reasons")) {
    policy.reason_texts.emplace(std::move(code.text), std::move(text.text));
  }
  if (section.has("table")) policy.table = table_of(section.section("table"), report.file());
  return policy;
}

}  // namespace girdle::config
