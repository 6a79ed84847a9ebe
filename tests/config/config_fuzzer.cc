// Any bytes as each of the four kinds of files: nothing crashes, and nothing is silently half read.
#include <cstdint>
#include <cstdlib>
#include <string>

#include "small_house.h"

namespace {

using namespace girdle::config;

void must(bool holds) {
  if (!holds) std::abort();
}

void check_settings(const Loaded& loaded) {
  for (const Problem& problem : loaded.problems) {
    must(!problem.text.empty() && !problem.file.empty());
    must(problem.mark.line >= 0 && (problem.mark.line == 0) == (problem.mark.column == 0));
  }
  if (!loaded.ok()) return;
  must(!loaded.settings.site.empty() && loaded.settings.ledger.is_absolute());
  for (const Intake& intake : loaded.settings.intakes) {
    must(!intake.name.empty() && intake.mapping_whole);
    must(intake.mapping.fields.empty() != intake.mapping.sections.empty());
    for (const auto& section : intake.mapping.sections) {
      must(section.ignore.empty() ? !section.fields.empty() : section.fields.empty());
      must(section.ignore.empty() || !section.when.empty());
    }
  }
}

// Rules that are right, also of a mapping that is not.
void check_rules(const std::vector<girdle::model::FieldRule>& rules) {
  for (const auto& rule : rules) {
    must(rule.has_constant == rule.from.empty());
    must(rule.match.empty() || (!rule.has_constant && rule.match_mark.line > 0));
    must(rule.gs1.empty() || (!rule.has_constant && rule.gs1_mark.line > 0));
    must(rule.take.empty() || (!rule.match.empty() && rule.take_mark.line > 0));
    must(rule.default_value.empty() || (!rule.has_constant && rule.default_mark.line > 0));
    must(rule.has_words || !(rule.fold_case || rule.fold_space));
  }
}

// Numbers are within their bounds in a policy that is wrong, too.
void check_policy(const Policy& policy, bool ok) {
  const auto half = *girdle::base::Decimal::parse("0.5");
  must(policy.repeat_correlation >= 0 && policy.repeat_correlation <= 1);
  must(policy.miss_limit > 0 && policy.miss_limit < half);
  must(policy.false_alarm_limit > 0 && policy.false_alarm_limit < half);
  must(policy.confidence >= half && policy.confidence < 1);
  must(!policy.valid_from || policy.valid_from_mark.line > 0);
  for (const auto& [language, texts] : policy.reasons) must(!language.empty());
  for (const auto& table : {policy.table, policy.required_table, policy.routing}) {
    must(!table || !table->rules.empty());
    must(!ok || !table || table->whole);
  }
  if (!ok) return;
  must(policy.valid_from.has_value() == (policy.valid_from_mark.line > 0));
  for (const Prior& prior : policy.priors) {
    auto sum = girdle::base::Decimal(0);
    for (const auto& share : prior.shares) sum = add(sum, share).value();
    must(sum == 1);
  }
  for (const Example& example : policy.examples) {
    must(!example.facts.empty());
    must(!example.disposition.text.empty() || !example.reason.text.empty() ||
         !example.required.text.empty() || example.outlets);
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  const std::string head = "site: a\nledger: { path: l.db }\n";
  const std::string intake =
      "intakes: [{ name: a, folder: { path: in }, reader: r, mapping: m.yaml }]\n";

  check_settings(load("/house/girdled.yaml", small_house(text)));

  MemoryFiles mapped = small_house(head + intake);
  mapped.file("/house/m.yaml", text);
  const Loaded with_mapping = load("/house/girdled.yaml", mapped);
  check_settings(with_mapping);
  const auto& mapping = with_mapping.settings.intakes.at(0).mapping;
  check_rules(mapping.fields);
  for (const auto& section : mapping.sections) {
    check_rules(section.fields);
    for (const auto& test : section.when) must(!test.texts.empty() || !with_mapping.ok());
  }

  MemoryFiles ruled = small_house(head + "policy: p.yaml\n");
  ruled.file("/house/p.yaml", text);
  const Loaded with_policy = load("/house/girdled.yaml", ruled);
  check_settings(with_policy);
  check_policy(with_policy.settings.policy, with_policy.ok());

  MemoryFiles table;
  table.file("/t.yaml", text);
  const LoadedTable loaded = load_table("/t.yaml", table);
  must(!loaded.problems.empty() || loaded.table.whole);
  for (const TableRule& rule : loaded.table.rules) {
    must(!loaded.table.whole || rule.mark.line > 0);
    for (const Text& cell : rule.when) must(!loaded.table.whole || cell.mark.line > 0);
  }
  return 0;
}
