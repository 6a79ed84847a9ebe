// A policy file, and a decision table: by itself, or inside a policy. What the cells say is
// compiled elsewhere; each keeps its place.
#include "config/parts.h"

namespace girdle::config {
namespace {

DecisionTable table_of(const Section& section, const std::string& file) {
  DecisionTable table;
  table.file = file;
  table.hit_policy = section.located("hit_policy");
  table.aggregation = section.located("aggregation");
  for (const Section& input : section.sections("inputs")) {
    table.inputs.push_back({.expression = input.located("expression"),
                            .type = input.text("type"),
                            .allowed_values = input.located("allowed_values")});
  }
  for (const Section& output : section.sections("outputs")) {
    table.outputs.push_back({.name = output.located("name"),
                             .type = output.text("type"),
                             .allowed_values = output.located("allowed_values"),
                             .default_value = output.located("default")});
  }
  for (const Section& rule : section.sections("rules")) {
    table.rules.push_back(
        {.when = rule.texts("when"), .then = rule.texts("then"), .note = rule.text("note")});
  }
  return table;
}

}  // namespace

std::optional<DecisionTable> read_table(const Node& root, const Report& report) {
  const size_t before = report.count();
  check(root, kTableKeys, report);
  if (report.count() > before) return std::nullopt;
  return table_of(Section(root, kTableKeys), report.file());
}

std::optional<Policy> read_policy(const Node& root, const Report& report) {
  const size_t before = report.count();
  check(root, kPolicyKeys, report);
  if (report.count() > before) return std::nullopt;
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
  if (section.is_map("table")) policy.table = table_of(section.section("table"), report.file());
  return policy;
}

}  // namespace girdle::config
