#include "service/house_builder.h"

#include "base/digest.h"
#include "base/json.h"
#include "base/time.h"
#include "casework/decide.h"
#include "evidence/colour_grade.h"

namespace girdle::service {
namespace {

using base::JsonWriter;

policy::Mark mark_of(const model::Mark& mark) { return {mark.line, mark.column}; }

void write_limits(JsonWriter& json, std::string_view name, const std::map<std::string, config::Text>& limits) {
  json.key(name).begin_object();
  for (const auto& [fact, test] : limits) json.member(fact, std::string_view(test.text));
  json.end_object();
}

void write_table(JsonWriter& json, const policy::TableSpec& spec) {
  json.key("table").begin_object();
  json.member("hit_policy", std::string_view(spec.hit_policy));
  json.member("aggregation", std::string_view(spec.aggregation));
  json.key("inputs").begin_array();
  for (const auto& input : spec.inputs) {
    json.begin_object().member("expression", std::string_view(input.expression)).member("type", std::string_view(input.type));
    json.member("allowed_values", std::string_view(input.allowed_values));
    if (input.required) json.member("required", true);  // left out otherwise: digests of older outcomes stay what they are
    json.end_object();
  }
  json.end_array().key("outputs").begin_array();
  for (const auto& output : spec.outputs) {
    json.begin_object().member("name", std::string_view(output.name)).member("type", std::string_view(output.type));
    json.member("allowed_values", std::string_view(output.allowed_values));
    json.member("default", std::string_view(output.default_value)).end_object();
  }
  json.end_array().key("rules").begin_array();
  for (const auto& rule : spec.rules) {
    json.begin_object().key("when").begin_array();
    for (const std::string& cell : rule.when) json.text(cell);
    json.end_array().key("then").begin_array();
    for (const std::string& cell : rule.then) json.text(cell);
    json.end_array().end_object();
  }
  json.end_array().end_object();
}

// Everything that an answer depends on, in a fixed order; not what is only shown (names of benches count: scans bind by
// them).
std::string canonical_rules(const config::Settings& settings, const policy::TableSpec& spec) {
  const config::Policy& policy = settings.policy;
  std::string out;
  JsonWriter json(out);
  json.begin_object();
  json.member("name", std::string_view(policy.name));
  json.member("version", std::string_view(policy.version));
  json.member("required", int64_t{policy.required});
  json.member("reopen_after", std::string_view(base::format_duration(policy.reopen_after)));
  json.member("scan_fresh", std::string_view(base::format_duration(policy.scan_fresh)));
  json.member("accept_unknown_scope", policy.accept_unknown_scope);
  write_table(json, spec);
  json.key("instruments").begin_array();
  std::map<std::string_view, const config::Instrument*> sorted;
  for (const config::Instrument& instrument : settings.instruments) sorted[instrument.serial] = &instrument;
  for (const auto& [serial, instrument] : sorted) {
    json.begin_object();
    json.member("serial", serial);
    json.member("bench", std::string_view(instrument->bench));
    json.member("cycle", std::string_view(base::format_duration(instrument->cycle)));
    write_limits(json, "scope", instrument->scope);
    write_limits(json, "ambient", instrument->ambient);
    json.end_object();
  }
  json.end_array().end_object();
  return out;
}

// Why a limit that can be read can never hold; empty where it can.
std::string never_true(const policy::UnaryTest& limit, bool is_color) {
  for (const policy::Comparison& comparison : limit.comparisons()) {
    const bool range = comparison.kind == policy::Comparison::Kind::kWithin;
    const policy::Operand& low = comparison.low;
    const policy::Operand& high = range ? comparison.high : low;
    for (const policy::Operand* end : {&low, &high}) {
      if (end->is_name() || policy::is_null(end->literal)) continue;
      if (!is_color && policy::has_type(end->literal, policy::Type::kNumber)) continue;
      return policy::to_json(end->literal) + " is no " +
             (is_color ? "colour grade from D to Z; a limit is written like [D..J]"
                       : "number; a limit is written like [0.03..10] or >= 1.5");
    }
    if (!low.is_name() || !high.is_name()) continue;
    const auto rank = [&](const policy::Operand& end) {
      return evidence::colour_rank(limit.names()[static_cast<size_t>(end.fact)]);
    };
    if (rank(low) > rank(high)) return "the range runs backwards: write the grade nearer to D first";
  }
  return {};
}

class RuleReader {
 public:
  RuleReader(const config::Settings& settings, std::vector<RuleProblem>& problems)
      : settings_(settings), problems_(problems) {}

  casework::InstrumentRules instrument(const config::Instrument& instrument) {
    casework::InstrumentRules rules;
    rules.bench = instrument.bench;
    rules.cycle = instrument.cycle;
    rules.color = limit(instrument.scope, "color");
    rules.carat = limit(instrument.scope, "carat");
    rules.table_mm = limit(instrument.scope, "table_mm");
    rules.temperature_c = limit(instrument.ambient, "temperature_c");
    rules.humidity_pct = limit(instrument.ambient, "humidity_pct");
    return rules;
  }

 private:
  std::optional<casework::Limit> limit(const std::map<std::string, config::Text>& limits, const std::string& fact) {
    const auto at = limits.find(fact);
    if (at == limits.end()) return std::nullopt;
    const std::string& text = at->second.text;
    auto parsed = casework::Limit::parse(text, fact == "color");
    const std::string wrong = parsed ? never_true(*policy::UnaryTest::parse(text), fact == "color") : parsed.error().text;
    if (wrong.empty()) return std::move(parsed).value();
    problems_.push_back({settings_.file.string(), at->second.mark, fact + ": " + wrong});
    return std::nullopt;
  }

  const config::Settings& settings_;
  std::vector<RuleProblem>& problems_;
};

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

std::optional<BuiltHouse> build_house(const config::Settings& settings, std::vector<RuleProblem>& problems) {
  const size_t before = problems.size();
  RuleReader reader(settings, problems);
  const std::optional<config::DecisionTable>& own = settings.policy.table;
  const policy::TableSpec spec = own ? table_spec(*own) : casework::default_table();
  auto compiled = casework::compile_table(spec);
  const auto* found = std::get_if<std::vector<policy::Problem>>(&compiled);
  if (own && found != nullptr) tell(*own, *found, problems);
  std::map<std::string, casework::InstrumentRules, std::less<>> instruments;
  for (const config::Instrument& instrument : settings.instruments) {
    instruments.emplace(instrument.serial, reader.instrument(instrument));
  }
  if (problems.size() > before || found != nullptr || (own && !own->whole)) return std::nullopt;

  BuiltHouse built;
  built.rules = canonical_rules(settings, spec);
  casework::House house{.stamp = {settings.policy.name, settings.policy.version,
                                  base::digest_text(base::sha256(built.rules))},
                        .required = settings.policy.required,
                        .reopen_after = settings.policy.reopen_after,
                        .scan_fresh = settings.policy.scan_fresh,
                        .accept_unknown_scope = settings.policy.accept_unknown_scope,
                        .table = std::move(std::get<policy::Table>(compiled)),
                        .fact_places = {},
                        .instruments = std::move(instruments),
                        .reason_texts = {settings.policy.reason_texts.begin(), settings.policy.reason_texts.end()}};
  house.fact_places = casework::fact_places(house.table);
  built.house = std::make_shared<const casework::House>(std::move(house));
  return built;
}

}  // namespace girdle::service
