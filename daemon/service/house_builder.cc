#include "service/house_builder.h"

#include <algorithm>

#include "base/text.h"
#include "service/policy_proof.h"

namespace girdle::service {
namespace {

using casework::HousePart;
using casework::HouseSpec;

policy::Mark mark_of(const model::Mark& mark) { return {mark.line, mark.column}; }
casework::Located located(const config::Text& text) { return {text.text, mark_of(text.mark)}; }

std::map<std::string, casework::Located> limits_of(
    const std::map<std::string, config::Text>& limits) {
  std::map<std::string, casework::Located> out;
  for (const auto& [fact, test] : limits) out.emplace(fact, located(test));
  return out;
}

HouseSpec::Instrument instrument_spec(const config::Instrument& instrument) {
  HouseSpec::Instrument out;
  out.serial = instrument.serial;
  out.bench = instrument.bench;
  out.cycle = instrument.cycle;
  out.scope = limits_of(instrument.scope);
  out.ambient = limits_of(instrument.ambient);
  if (instrument.known_stones) {
    out.known_stones = instrument.known_stones->counts;
    out.known_stones_source = instrument.known_stones->source;
  }
  return out;
}

HouseSpec::Example example_spec(const config::Example& example) {
  HouseSpec::Example out;
  out.mark = mark_of(example.mark);
  for (const auto& [name, value] : example.facts)
    out.facts.emplace_back(located(name), located(value));
  out.disposition = located(example.disposition);
  out.reason = located(example.reason);
  out.required = located(example.required);
  if (!example.outlets) return out;
  out.outlets.emplace();
  for (const config::Text& outlet : *example.outlets) out.outlets->push_back(located(outlet));
  return out;
}

// Of the language, else of the language that it is a kind of: `de` for `de-AT`.
const std::map<std::string, config::Text>* wording_of(const config::Policy& policy,
                                                      const std::string& language) {
  auto at = policy.reasons.find(language);
  if (at == policy.reasons.end()) at = policy.reasons.find(language.substr(0, language.find('-')));
  return at == policy.reasons.end() ? nullptr : &at->second;
}

std::vector<const config::DecisionTable*> tables_of(const config::Policy& policy) {
  std::vector<const config::DecisionTable*> tables;
  for (const auto* table : {&policy.table, &policy.required_table, &policy.routing}) {
    if (*table) tables.push_back(&**table);
  }
  return tables;
}

HouseSpec house_spec(const config::Settings& settings, const config::Policy& policy) {
  HouseSpec spec;
  spec.name = policy.name;
  spec.version = policy.version;
  spec.valid_from = policy.valid_from;
  spec.required = policy.required;
  spec.reopen_after = policy.reopen_after;
  spec.scan_fresh = policy.scan_fresh;
  spec.accept_unknown_scope = policy.accept_unknown_scope;
  spec.repeat_correlation = policy.repeat_correlation;
  spec.miss_limit = policy.miss_limit;
  spec.false_alarm_limit = policy.false_alarm_limit;
  spec.confidence = policy.confidence;
  for (const config::Prior& prior : policy.priors)
    spec.priors.push_back({prior.channel, prior.shares});
  if (policy.table) spec.table = table_spec(*policy.table);
  if (policy.required_table) spec.required_table = table_spec(*policy.required_table);
  if (policy.routing) spec.routing = table_spec(*policy.routing);
  if (const auto* wording = wording_of(policy, settings.language))
    spec.reasons = limits_of(*wording);
  spec.market = settings.market;
  for (const config::Instrument& instrument : settings.instruments) {
    spec.instruments.push_back(instrument_spec(instrument));
  }
  std::ranges::sort(spec.instruments, {}, &HouseSpec::Instrument::serial);
  for (const config::Example& example : policy.examples)
    spec.examples.push_back(example_spec(example));
  return spec;
}

const config::DecisionTable* table_of(const config::Policy& policy, HousePart part) {
  const auto or_null = [](const std::optional<config::DecisionTable>& table) {
    return table ? &*table : nullptr;
  };
  if (part == HousePart::kTable) return or_null(policy.table);
  if (part == HousePart::kRequired) return or_null(policy.required_table);
  return part == HousePart::kRouting ? or_null(policy.routing) : nullptr;
}

// Outlets that a routing table names and the configuration has not.
void check_outlets(const config::Settings& settings, const config::Policy& policy,
                   const HouseSpec& spec, std::vector<RuleProblem>& problems) {
  if (!spec.routing) return;
  std::vector<std::string_view> names;
  for (const config::Outlet& outlet : settings.outlets) names.push_back(outlet.name);
  const auto cells = policy::output_cells(*spec.routing, "outlet");
  for (const policy::OutputCell& cell : cells.value_or(std::vector<policy::OutputCell>())) {
    const auto name = policy::text_literal(cell.text);
    if (!name || std::ranges::find(names, *name) != names.end()) continue;
    problems.push_back({policy.routing->file,
                        {cell.mark.line, cell.mark.column},
                        "no outlet is called " + base::in_quotes(*name) +
                            (names.empty() ? "; the configuration has none"
                                           : "; there is " + base::listed(names))});
  }
}

}  // namespace

policy::TableSpec table_spec(const config::DecisionTable& table) {
  policy::TableSpec spec;
  spec.hit_policy = table.hit_policy.text;
  spec.aggregation = table.aggregation.text;
  spec.mark = mark_of(table.hit_policy.mark);
  for (const config::TableInput& input : table.inputs) {
    policy::TableSpec::Input column;
    column.expression = input.expression.text;
    column.type = input.type;
    column.allowed_values = input.allowed_values.text;
    column.required = input.required;
    column.mark = mark_of(input.expression.mark);
    spec.inputs.push_back(std::move(column));
  }
  for (const config::TableOutput& output : table.outputs) {
    policy::TableSpec::Output column;
    column.name = output.name.text;
    column.type = output.type;
    column.allowed_values = output.allowed_values.text;
    column.default_value = output.default_value.text;
    column.mark = mark_of(output.name.mark);
    spec.outputs.push_back(std::move(column));
  }
  for (const config::TableRule& rule : table.rules) {
    policy::TableSpec::Rule row;
    for (const config::Text& cell : rule.when) {
      row.when.push_back(cell.text);
      row.when_marks.push_back(mark_of(cell.mark));
    }
    for (const config::Text& cell : rule.then) {
      row.then.push_back(cell.text);
      row.then_marks.push_back(mark_of(cell.mark));
    }
    row.note = rule.note;
    row.mark = mark_of(rule.mark);
    spec.rules.push_back(std::move(row));
  }
  return spec;
}

void tell(const config::DecisionTable& table, const std::vector<policy::Problem>& found,
          std::vector<RuleProblem>& problems) {
  for (const policy::Problem& problem : found) {
    if (!table.whole && problem.mark.line == 0) continue;  // of a stand-in
    problems.push_back({table.file, {problem.mark.line, problem.mark.column}, problem.text});
  }
}

namespace {

void tell_all(const config::Settings& settings, const config::Policy& policy,
              const std::vector<casework::HouseProblem>& found,
              std::vector<RuleProblem>& problems) {
  for (const casework::HouseProblem& problem : found) {
    if (const config::DecisionTable* table = table_of(policy, problem.part)) {
      tell(*table, {{problem.mark, problem.text}}, problems);
      continue;
    }
    const std::string& file =
        problem.part == HousePart::kInstruments ? settings.file.string() : policy.file;
    problems.push_back({file, {problem.mark.line, problem.mark.column}, problem.text});
  }
}

}  // namespace

std::optional<Rules> build_rules(const config::Settings& settings, const config::Policy& policy,
                                 std::vector<RuleProblem>& problems,
                                 std::vector<RuleProblem>* notices) {
  const size_t before = problems.size();
  const HouseSpec spec = house_spec(settings, policy);
  check_outlets(settings, policy, spec, problems);
  auto built = casework::build(spec);
  if (const auto* found = std::get_if<std::vector<casework::HouseProblem>>(&built)) {
    tell_all(settings, policy, *found, problems);
    return std::nullopt;
  }
  // What follows would tell of the stand-ins.
  if (!std::ranges::all_of(tables_of(policy), [](const auto* table) { return table->whole; }))
    return std::nullopt;
  auto& [house, text] = std::get<casework::BuiltHouse>(built);
  tell_all(settings, policy, casework::try_examples(spec, house), problems);
  if (notices != nullptr) prove_policy(policy, house, problems, *notices);
  if (problems.size() > before) return std::nullopt;
  return Rules{std::make_shared<const casework::House>(std::move(house)), std::move(text),
               policy.valid_from, policy.approved_by, policy.why};
}

}  // namespace girdle::service
