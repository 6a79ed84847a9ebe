// A policy file, and a decision table: by itself, or inside a policy. What the cells say is
// compiled elsewhere; each keeps its place.
#include <algorithm>
#include <map>

#include "base/text.h"
#include "config/parts.h"
#include "config/values.h"

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
  table.is_hit_policy_given = section.has("hit_policy");
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

std::optional<DecisionTable> table_under(std::string_view key, const Section& policy,
                                         const Report& report) {
  if (!policy.has(key)) return std::nullopt;
  return table_of(policy.section(key), report.file());
}

void read_parameters(const Section& section, Policy& policy) {
  policy.required = static_cast<int>(section.whole("required"));
  policy.accept_unknown_scope = section.flag("accept_unknown_scope");
  policy.repeat_correlation = section.decimal("repeat_correlation");
  policy.miss_limit = section.decimal("miss_limit");
  policy.false_alarm_limit = section.decimal("false_alarm_limit");
  policy.confidence = section.decimal("confidence");
}

// Of a prior whose shares are right each by itself: what is wrong with their sum, else nothing.
std::string wrong_sum(const Prior& prior) {
  std::optional<base::Decimal> sum = 0;
  for (const base::Decimal& share : prior.shares) {
    if (sum) sum = add(*sum, share);
  }
  if (!sum) return "the shares have more digits than can be added exactly; write fewer";
  return *sum == 1 ? "" : "the shares must be exactly 1 together, not " + sum->text();
}

Prior prior_of(const Section& section, const Report& report) {
  Prior prior;
  prior.mark = section.mark();
  prior.channel = section.text("channel");
  prior.source = section.text("source");
  bool sound = !section.has_unknown_keys();
  for (size_t i = 0; i < prior.shares.size(); ++i) {
    prior.shares[i] = section.decimal(finding_word(i));
    sound = sound && section.sound(finding_word(i));
  }
  if (const std::string why = sound ? wrong_sum(prior) : ""; !why.empty()) {
    report(prior.mark, "a prior: " + why);
  }
  return prior;
}

std::vector<Prior> priors_of(const Section& policy, const Report& report) {
  std::vector<Prior> out;
  std::map<std::string, int> lines;
  for (const Section& section : policy.sections("priors")) {
    out.push_back(prior_of(section, report));
    if (!section.sound("channel")) continue;
    const std::string& channel = out.back().channel;
    const auto [first, fresh] = lines.emplace(channel, section.mark("channel").line);
    if (fresh) continue;
    const std::string line = std::to_string(first->second);
    report(section.mark("channel"),
           channel.empty() ? "a prior without a channel is here already (line " + line +
                                 "); name the channel of all but one"
                           : "channel: the channel " + base::in_quotes(channel) +
                                 " is here already (line " + line + "); each comes once");
  }
  return out;
}

Example example_of(const Section& section) {
  Example example;
  example.mark = section.mark();
  example.facts = section.pairs("facts");
  const Section then = section.section("then");
  example.disposition = then.located("disposition");
  example.reason = then.located("reason");
  example.required = then.located("required");
  if (then.has("outlets")) example.outlets = then.texts("outlets");
  example.note = section.text("note");
  return example;
}

}  // namespace

DecisionTable read_table(const Node& root, const Report& report) {
  check(root, kTableKeys, report);
  return table_of(Section(root, kTableKeys), report.file());
}

Policy read_policy(const Node& root, const base::Zone& zone, const Report& report) {
  check(root, kPolicyKeys, report);
  const Section section(root, kPolicyKeys);
  Policy policy;
  policy.file = report.file();
  policy.name = section.text("name");
  policy.version = section.text("version");
  if (section.has("valid_from")) {
    policy.valid_from = parse_moment(section.text("valid_from"), zone);
    policy.valid_from_mark = section.mark("valid_from");
  }
  policy.approved_by = section.text("approved_by");
  policy.why = section.text("why");
  read_parameters(section.section("parameters"), policy);
  policy.reopen_after = section.duration("reopen_after");
  policy.scan_fresh = section.duration("scan_fresh");
  policy.priors = priors_of(section, report);
  policy.table = table_under("table", section, report);
  policy.required_table = table_under("required", section, report);
  policy.routing = table_under("routing", section, report);
  for (auto& [language, texts] : section.text_maps("reasons")) {
    for (auto& [code, text] : texts) policy.reasons[language.text].emplace(code.text, text);
  }
  for (const Section& example : section.sections("examples")) {
    policy.examples.push_back(example_of(example));
  }
  return policy;
}

}  // namespace girdle::config
