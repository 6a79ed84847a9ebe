#include "casework/house_spec.h"

#include <algorithm>

#include "base/digest.h"
#include "base/text.h"
#include "casework/decide.h"
#include "casework/example.h"
#include "casework/explain.h"

namespace girdle::casework {
namespace {

using policy::Mark;
using policy::Table;
using policy::TableSpec;
using policy::text_literal;

std::string_view values_of(std::string_view fact) {
  return facts_of(FactSet::kAnswer)[*place_of(fact)].values;
}

// What an output cell may say: why a literal is wrong, or nothing. A cell that names or calculates
// a value is checked when it is evaluated.
using CellCheck = std::optional<std::string> (*)(std::string_view cell);

std::optional<std::string> no_disposition(std::string_view cell) {
  const auto word = text_literal(cell);
  if (word && model::disposition_of(*word)) return std::nullopt;
  return std::string(cell) +
         " is no disposition; it is one of \"repeat\", \"release\", \"hold\", \"refer\" and "
         "\"reject\", in double quotes";
}

std::optional<std::string> no_runs(std::string_view cell) {
  const auto number = base::Decimal::parse(cell);
  if (!number && !text_literal(cell)) return std::nullopt;
  const auto runs = number ? number->as_integer() : std::nullopt;
  if (runs && *runs >= 1 && *runs <= kMostRequired) return std::nullopt;
  return std::string(cell) + " is no number of runs; it is a whole number from 1 to " +
         std::to_string(kMostRequired);
}

std::optional<std::string> anything(std::string_view) { return std::nullopt; }

bool gives_lists(policy::HitPolicy hit_policy) {
  using enum policy::HitPolicy;
  return hit_policy == kCollect || hit_policy == kRuleOrder || hit_policy == kOutputOrder;
}

struct NeededOutput {
  std::string_view name;
  CellCheck wrong;
};

class HouseBuilder {
 public:
  explicit HouseBuilder(const HouseSpec& spec) : spec_(spec) {}

  std::variant<BuiltHouse, std::vector<HouseProblem>> build();

 private:
  void report(HousePart part, const Mark& mark, std::string text) {
    problems_.push_back({part, mark, std::move(text)});
  }
  std::optional<Table> table(HousePart part, const TableSpec& spec, FactSet facts,
                             std::initializer_list<NeededOutput> needed);
  void check_output(HousePart part, const TableSpec& spec, const NeededOutput& needed);
  InstrumentRules instrument(const HouseSpec::Instrument& instrument);
  std::optional<Limit> limit(const std::map<std::string, Located>& limits, const std::string& fact);
  void reasons(House& house);

  const HouseSpec& spec_;
  std::vector<HouseProblem> problems_;
};

void HouseBuilder::check_output(HousePart part, const TableSpec& spec,
                                const NeededOutput& needed) {
  const auto cells = policy::output_cells(spec, needed.name);
  if (!cells) {
    return report(part, spec.mark, "the table has no output named " + std::string(needed.name));
  }
  for (const policy::OutputCell& cell : *cells) {
    if (auto wrong = needed.wrong(cell.text)) report(part, cell.mark, std::move(*wrong));
  }
}

std::optional<Table> HouseBuilder::table(HousePart part, const TableSpec& spec, FactSet facts,
                                         std::initializer_list<NeededOutput> needed) {
  const size_t before = problems_.size();
  auto compiled = Table::compile(spec, known_facts(facts));
  if (const auto* found = std::get_if<std::vector<policy::Problem>>(&compiled)) {
    for (const policy::Problem& problem : *found) report(part, problem.mark, problem.text);
  }
  for (const NeededOutput& output : needed) check_output(part, spec, output);
  if (problems_.size() > before) return std::nullopt;
  return std::get<Table>(std::move(compiled));
}

std::optional<Limit> HouseBuilder::limit(const std::map<std::string, Located>& limits,
                                         const std::string& fact) {
  const auto at = limits.find(fact);
  if (at == limits.end()) return std::nullopt;
  auto parsed = Limit::parse(at->second.text, fact == "color");
  if (parsed) return std::move(parsed).value();
  report(HousePart::kInstruments, at->second.mark, fact + ": " + parsed.error().text);
  return std::nullopt;
}

InstrumentRules HouseBuilder::instrument(const HouseSpec::Instrument& instrument) {
  InstrumentRules rules;
  rules.bench = instrument.bench;
  rules.cycle = instrument.cycle;
  rules.color = limit(instrument.scope, "color");
  rules.carat = limit(instrument.scope, "carat");
  rules.table_mm = limit(instrument.scope, "table_mm");
  rules.temperature_c = limit(instrument.ambient, "temperature_c");
  rules.humidity_pct = limit(instrument.ambient, "humidity_pct");
  if (instrument.known_stones) rules.known_stones.emplace().of = *instrument.known_stones;
  rules.known_stones_source = instrument.known_stones_source;
  return rules;
}

void HouseBuilder::reasons(House& house) {
  for (const auto& [code, text] : spec_.reasons) {
    for (const std::string& name : placeholders(text.text)) {
      const auto place = place_of(name);
      if (place && *place < facts_of(FactSet::kEvidence).size()) continue;
      const std::string_view near = base::nearest(name, fact_names(FactSet::kEvidence));
      report(HousePart::kReasons, text.mark,
             base::in_quotes("{" + name) +
                 " names no fact, or is not closed; a reason may name those of the disposition "
                 "table, " +
                 (near.empty() ? "as in {valid}" : "as in {" + std::string(near) + "}"));
    }
    house.reason_texts.emplace(code, text.text);
  }
}

std::variant<BuiltHouse, std::vector<HouseProblem>> HouseBuilder::build() {
  std::map<std::string, InstrumentRules, std::less<>> instruments;
  for (const HouseSpec::Instrument& one : spec_.instruments)
    instruments.emplace(one.serial, instrument(one));
  auto main = table(HousePart::kTable, spec_.table, FactSet::kEvidence,
                    {{"disposition", no_disposition}, {"reason", anything}});
  if (main && gives_lists(main->hit_policy())) {
    report(HousePart::kTable, spec_.table.mark,
           "what to do with a stone is one answer: its table's hit_policy is UNIQUE, ANY, PRIORITY "
           "or FIRST");
  }
  std::optional<Table> required, routing;
  if (spec_.required_table) {
    required = table(HousePart::kRequired, *spec_.required_table, FactSet::kStone,
                     {{"required", no_runs}});
  }
  if (spec_.routing)
    routing = table(HousePart::kRouting, *spec_.routing, FactSet::kAnswer, {{"outlet", anything}});
  if (!main) return std::move(problems_);

  std::string rules = rules_text(spec_);
  House house(std::move(*main));
  house.stamp = {spec_.name, spec_.version, base::digest_text(base::sha256(rules))};
  house.required = spec_.required;
  house.reopen_after = spec_.reopen_after;
  house.scan_fresh = spec_.scan_fresh;
  house.settings.accept_unknown_scope = spec_.accept_unknown_scope;
  house.repeat_correlation = spec_.repeat_correlation.approximate();
  house.confidence = spec_.confidence.approximate();
  house.error_limits = {spec_.miss_limit.approximate(), spec_.false_alarm_limit.approximate()};
  for (const HouseSpec::Priors& priors : spec_.priors) {
    ChannelPriors& of = house.priors.emplace_back();
    of.channel = priors.channel;
    std::ranges::transform(priors.shares, of.shares.begin(), &base::Decimal::approximate);
  }
  if (required) house.required_table.emplace(std::move(*required));
  if (routing) house.routing.emplace(std::move(*routing));
  house.instruments = std::move(instruments);
  house.market = spec_.market;
  reasons(house);
  if (!problems_.empty()) return std::move(problems_);
  return BuiltHouse{std::move(house), std::move(rules)};
}

}  // namespace

policy::TableSpec HouseSpec::default_table() {
  policy::TableSpec spec;
  spec.hit_policy = "FIRST";
  const auto input = [&](const char* expression, const char* kind, std::string_view allowed = "") {
    policy::TableSpec::Input column;
    column.expression = expression;
    column.type = kind;
    column.allowed_values = allowed;
    spec.inputs.push_back(std::move(column));
  };
  input("finding", "string", values_of("finding"));
  input("valid", "number");
  input("voids", "number");
  input("scope", "string", values_of("scope"));
  input("instrument", "string", values_of("instrument"));
  input("declared", "string", values_of("declared"));
  policy::TableSpec::Output disposition;
  disposition.name = "disposition";
  disposition.type = "string";
  disposition.allowed_values = R"("reject", "hold", "refer", "repeat", "release")";
  policy::TableSpec::Output reason;
  reason.name = "reason";
  reason.type = "string";
  spec.outputs = {disposition, reason};

  const auto rule = [&](std::vector<std::string> when, const char* then, const char* code) {
    policy::TableSpec::Rule row;
    row.when = std::move(when);
    row.then = {'"' + std::string(then) + '"', '"' + std::string(code) + '"'};
    spec.rules.push_back(std::move(row));
  };
  const std::string named = R"("laboratory_grown", "treated", "composite")";
  const std::string genuine = R"("natural", "none")";
  // clang-format off
  //     finding              valid         voids  scope                     instrument  declared
  rule({"-",                  "-",          "-",   "-",                      "\"unfit\"", "-"}, "hold", "instrument_unfit");
  rule({"\"none\"",           "-",          "< 3", "-",                      "-", "-"}, "repeat", "no_valid_measurement");
  rule({"\"none\"",           "-",          "-",   "-",                      "-", "-"}, "hold", "cannot_be_measured");
  rule({"\"mixed\"",          "-",          "-",   "-",                      "-", "-"}, "refer", "findings_differ");
  rule({"-",                  "-",          "-",   "\"out\"",                "-", "-"}, "refer", "outside_instrument_scope");
  rule({"-",                  "< required", "-",   "-",                      "-", "-"}, "repeat", "more_readings_needed");
  rule({"\"indeterminate\"",  "-",          "-",   "-",                      "-", "-"}, "refer", "instrument_cannot_tell");
  rule({"\"simulant\"",       "-",          "-",   "-",                      "-", "\"simulant\""}, "release", "as_declared");
  rule({"\"simulant\"",       "-",          "-",   "-",                      "-", "-"}, "reject", "simulant");
  rule({named,                "-",          "-",   "-",                      "-", "finding"}, "release", "as_declared");
  rule({named,                "-",          "-",   "-",                      "-", "-"}, "refer", "not_as_declared");
  rule({"\"natural\"",        "-",          "-",   "\"in\", accepted_scope", "-", genuine}, "release", "as_declared");
  rule({"\"natural\"",        "-",          "-",   "\"unknown\"",            "-", genuine}, "hold", "scope_unknown");
  rule({"\"natural\"",        "-",          "-",   "-",                      "-", "-"}, "hold", "declared_otherwise");
  rule({"-",                  "-",          "-",   "-",                      "-", "-"}, "hold", "no_rule");
  // clang-format on
  return spec;
}

std::variant<BuiltHouse, std::vector<HouseProblem>> build(const HouseSpec& spec) {
  return HouseBuilder(spec).build();
}

std::vector<HouseProblem> try_examples(const HouseSpec& spec, const House& house) {
  std::vector<HouseProblem> problems;
  size_t number = 0;
  for (const HouseSpec::Example& example : spec.examples) {
    ++number;
    for (const ExampleFault& fault : try_example(example, house)) {
      problems.push_back({HousePart::kExamples, fault.mark,
                          "example " + std::to_string(number) + ": " + fault.text});
    }
  }
  return problems;
}

}  // namespace girdle::casework
