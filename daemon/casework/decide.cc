#include "casework/decide.h"

#include <algorithm>

#include "base/text.h"

namespace girdle::casework {
namespace {

using base::Decimal;
using model::Decision;
using model::Disposition;
using model::Evidence;
using policy::Value;

// All that a fact of words can be, as allowed values.
constexpr std::string_view kFindings =
    R"("natural", "laboratory_grown", "treated", "composite", "simulant", "indeterminate", "mixed", "none")";
constexpr std::string_view kIdentities = R"("natural", "laboratory_grown", "treated", "composite", "simulant", "none")";
constexpr std::string_view kScopes = R"("in", "out", "unknown")";
constexpr std::string_view kFitness = R"("fit", "unfit", "unknown")";

struct DefaultReason {
  std::string_view code;
  std::string_view text;
};

// Ours, in English; a house may word them otherwise.
constexpr DefaultReason kReasons[] = {
    {"instrument_unfit", "The instrument is unfit: its readings do not count until it is verified."},
    {"no_valid_measurement", "No valid measurement yet: seat the stone again and measure."},
    {"cannot_be_measured", "Three or more runs gave no valid measurement: a person must look at the stone."},
    {"findings_differ", "The runs disagree: a gemmological laboratory decides."},
    {"outside_instrument_scope", "The stone is outside what the instrument can judge: a laboratory decides."},
    {"more_readings_needed", "More agreeing runs are needed before anything follows from them."},
    {"instrument_cannot_tell", "The instrument measured the stone and cannot tell: a laboratory decides."},
    {"as_declared", "The runs agree with what was declared."},
    {"simulant", "The runs agree on a simulant: not the diamond it was taken for."},
    {"not_as_declared", "The finding is not what was declared: a laboratory decides."},
    {"scope_unknown", "Nothing says that the instrument can judge this stone: its carat or colour is not known."},
    {"declared_otherwise", "The runs agree on natural, but it was declared as something else."},
    {"no_rule", "The policy has no rule for this: a person must look."},
    {"policy_error", "The policy could not be evaluated: a person must look."},
};

Decision hold(const Evidence& evidence, std::string reason) {
  Decision decision;
  decision.disposition = Disposition::kHold;
  decision.reason = std::move(reason);
  decision.evidence = evidence;
  return decision;
}

}  // namespace

const std::vector<std::string>& fact_names() {
  static const std::vector<std::string> kNames = {"valid",      "voids",    "required",             "finding",
                                                  "scope",      "instrument", "declared",
                                                  "accept_unknown_scope", "accepted_scope"};
  return kNames;
}

std::span<const policy::ProofFact> proof_facts() {
  static constexpr policy::ProofFact kFacts[] = {
      {"valid", true, true, ">= 0"},
      {"voids", true, true, ">= 0"},
      {"required", true, true, ">= 1"},
      {"finding", true, false, kFindings},
      {"scope", true, false, kScopes},
      {"instrument", true, false, kFitness},
      {"declared", true, false, kIdentities},
      {"accept_unknown_scope", true, false, {}},
      {"accepted_scope", false, false, "\"unknown\""}};
  return kFacts;
}

std::vector<Value> facts(const Evidence& e, const House& house) {
  std::vector<Value> values;
  values.reserve(fact_names().size());
  values.emplace_back(Decimal(e.valid));
  values.emplace_back(Decimal(e.voids));
  values.emplace_back(Decimal(e.required));
  values.emplace_back(std::string(text(e.finding)));
  values.emplace_back(std::string(text(e.scope)));
  values.emplace_back(std::string(text(e.instrument)));
  values.emplace_back(e.declared ? std::string(text(*e.declared)) : std::string("none"));
  values.emplace_back(house.accept_unknown_scope);
  values.push_back(house.accept_unknown_scope ? Value(std::string("unknown")) : Value());
  return values;
}

policy::TableSpec default_table() {
  policy::TableSpec spec;
  spec.hit_policy = "FIRST";
  const auto input = [&](const char* name, const char* type, std::string_view allowed = "") {
    policy::TableSpec::Input column;
    column.expression = name;
    column.type = type;
    column.allowed_values = allowed;
    spec.inputs.push_back(std::move(column));
  };
  input("finding", "string", kFindings);
  input("valid", "number");
  input("voids", "number");
  input("scope", "string", kScopes);
  input("instrument", "string", kFitness);
  input("declared", "string", kIdentities);
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
  return spec;
}

std::variant<policy::Table, std::vector<policy::Problem>> compile_table(const policy::TableSpec& spec) {
  std::vector<policy::KnownFact> known;
  for (const std::string& name : fact_names()) known.push_back({name});
  auto compiled = policy::Table::compile(spec, known);
  std::vector<policy::Problem> problems;
  if (auto* found = std::get_if<std::vector<policy::Problem>>(&compiled)) problems = std::move(*found);
  for (const char* needed : {"disposition", "reason"}) {
    const bool there = std::any_of(spec.outputs.begin(), spec.outputs.end(),
                                   [&](const policy::TableSpec::Output& output) { return output.name == needed; });
    if (!there) problems.push_back({spec.mark, std::string("the table has no output named ") + needed});
  }
  for (size_t column = 0; column < spec.outputs.size(); ++column) {
    if (spec.outputs[column].name != "disposition") continue;
    for (const policy::TableSpec::Rule& rule : spec.rules) {
      if (column >= rule.then.size()) continue;
      const std::string_view cell = base::trimmed(rule.then[column]);
      const bool quoted = cell.size() > 2 && cell.front() == '"' && cell.back() == '"';
      if (quoted && model::disposition_of(cell.substr(1, cell.size() - 2))) continue;
      const policy::Mark mark = column < rule.then_marks.size() ? rule.then_marks[column] : rule.mark;
      problems.push_back({mark, std::string(cell) + " is no disposition; it is one of \"repeat\", \"release\", \"hold\", "
                                                    "\"refer\" and \"reject\", in double quotes"});
    }
  }
  if (!problems.empty()) return problems;
  return std::move(std::get<policy::Table>(compiled));
}

std::vector<size_t> fact_places(const policy::Table& table) {
  std::vector<size_t> places;
  for (const std::string& name : table.fact_names()) {
    const auto& names = fact_names();
    places.push_back(static_cast<size_t>(std::find(names.begin(), names.end(), name) - names.begin()));
  }
  return places;
}

Decision decide(const Evidence& evidence, const House& house) {
  const std::vector<Value> values = facts(evidence, house);
  std::vector<Value> slots;
  slots.reserve(house.fact_places.size());
  for (const size_t place : house.fact_places) slots.push_back(values[place]);
  const policy::Decision decided = house.table.evaluate(slots);
  switch (decided.kind) {
    case policy::Decision::Kind::kNoRule:
      return hold(evidence, "no_rule");
    case policy::Decision::Kind::kError:
      return hold(evidence, "policy_error");
    case policy::Decision::Kind::kDecided:
      break;
  }
  const Value* word = decided.output("disposition");
  const Value* reason = decided.output("reason");
  const auto* disposition_word = word ? std::get_if<std::string>(word) : nullptr;
  const auto* reason_word = reason ? std::get_if<std::string>(reason) : nullptr;
  const auto disposition = disposition_word ? model::disposition_of(*disposition_word) : std::nullopt;
  if (!disposition) return hold(evidence, "policy_error");
  Decision decision;
  decision.disposition = *disposition;
  decision.reason = reason_word ? *reason_word : "no_reason_given";
  decision.rule = decided.rules.empty() ? 0 : decided.rules.front();
  decision.evidence = evidence;
  return decision;
}

std::string reason_text(std::string_view code, const Evidence& evidence, const House& house) {
  if (const auto own = house.reason_texts.find(code); own != house.reason_texts.end()) return own->second;
  if (code == "more_readings_needed") {
    const int missing = std::max(1, evidence.required - evidence.valid);
    return std::to_string(evidence.valid) + " of " + std::to_string(evidence.required) + " agreeing runs so far: measure " +
           (missing == 1 ? "once" : std::to_string(missing) + " times") + " more.";
  }
  for (const DefaultReason& reason : kReasons) {
    if (reason.code == code) return std::string(reason.text);
  }
  std::string text(code);
  std::replace(text.begin(), text.end(), '_', ' ');
  return text;
}

}  // namespace girdle::casework
