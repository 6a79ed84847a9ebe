#include "delivery/event_fields.h"

#include <algorithm>
#include <array>
#include <utility>

#include "base/json_pointer.h"
#include "base/text.h"

namespace girdle::delivery {
namespace {

using enum FieldKind;
using enum Presence;

constexpr std::string_view kDispositions[] = {"repeat", "release", "hold", "refer", "reject"};
constexpr std::string_view kIdentities[] = {"natural", "laboratory_grown", "treated", "composite",
                                            "simulant"};
constexpr std::string_view kFindings[] = {"natural",   "laboratory_grown", "treated",
                                          "composite", "simulant",         "indeterminate"};
constexpr std::string_view kCommonFindings[] = {
    "natural",  "laboratory_grown", "treated", "composite",
    "simulant", "indeterminate",    "mixed",   "none"};
constexpr std::string_view kSubjects[] = {"stone", "piece", "parcel"};
constexpr std::string_view kStoneKinds[] = {"piece", "parcel"};
constexpr std::string_view kScopes[] = {"in", "out", "unknown"};
constexpr std::string_view kFitness[] = {"fit", "unfit", "unknown"};
constexpr std::string_view kLimits[] = {"met", "against", "open"};
constexpr std::string_view kMarkets[] = {"iso", "cibjo", "us"};

constexpr EventField kFields[] = {
    {"", kObject},
    {"/specversion", kText},
    {"/id", kText},
    {"/source", kText},
    {"/type", kText},
    {"/subject", kText},
    {"/time", kTime},
    {"/sequence", kText},
    {"/datacontenttype", kText},
    {"/data", kObject},
    {"/data/case", kText},
    {"/data/sequence", kNumber},
    {"/data/site", kText},
    {"/data/subject", kObject},
    {"/data/subject/kind", kWord, kAlways, kSubjects},
    {"/data/subject/stock_number", kText},
    {"/data/subject/position", kText, kNullable},
    {"/data/disposition", kWord, kAlways, kDispositions},
    {"/data/previous_disposition", kWord, kNullable, kDispositions},
    {"/data/finding", kWord, kAlways, kCommonFindings},
    {"/data/reasons", kList},
    {"/data/reasons/*", kObject},
    {"/data/reasons/*/code", kText},
    {"/data/reasons/*/text", kText},
    {"/data/by_hand", kObject, kNullable},
    {"/data/by_hand/who", kText},
    {"/data/by_hand/why", kText},
    {"/data/readings", kObject},
    {"/data/readings/valid", kNumber},
    {"/data/readings/void", kNumber},
    {"/data/readings/discounted", kNumber},
    {"/data/readings/duplicates", kNumber},
    {"/data/readings/required", kNumber},
    {"/data/readings/missing", kNumber},
    {"/data/evidence", kObject},
    {"/data/evidence/scope", kWord, kAlways, kScopes},
    {"/data/evidence/instrument", kWord, kAlways, kFitness},
    {"/data/evidence/instruments", kNumber},
    {"/data/evidence/dissent", kNumber},
    {"/data/evidence/said", kList, kOptional},
    {"/data/evidence/said/*", kObject, kOptional},
    {"/data/evidence/said/*/finding", kWord, kAlways, kFindings},
    {"/data/evidence/said/*/instrument", kText},
    {"/data/evidence/said/*/runs", kNumber},
    {"/data/evidence/stone", kObject, kOptional},
    {"/data/evidence/stone/kind", kWord, kOptional, kStoneKinds},
    {"/data/evidence/stone/carat", kDecimal, kOptional},
    {"/data/evidence/stone/color", kText, kOptional},
    {"/data/evidence/stone/shape", kText, kOptional},
    {"/data/evidence/stone/mount", kText, kOptional},
    {"/data/evidence/stone/stones", kDecimal, kOptional},
    {"/data/evidence/stone/value", kDecimal, kOptional},
    {"/data/evidence/stone/channel", kText, kOptional},
    {"/data/evidence/probability", kObject, kOptional},
    {"/data/evidence/probability/of", kWord, kAlways, kIdentities},
    {"/data/evidence/probability/value", kDecimal},
    {"/data/evidence/probability/low", kDecimal},
    {"/data/evidence/probability/high", kDecimal},
    {"/data/evidence/error_limits", kWord, kOptional, kLimits},
    {"/data/evidence/more_runs", kNumber, kOptional},
    {"/data/evidence/carat_estimate", kObject, kOptional},
    {"/data/evidence/carat_estimate/carat", kDecimal},
    {"/data/evidence/carat_estimate/low", kDecimal},
    {"/data/evidence/carat_estimate/high", kDecimal},
    {"/data/evidence/carat_estimate/plausible", kFlag, kOptional},
    {"/data/declared", kObject},
    {"/data/declared/identity", kWord, kOptional, kIdentities},
    {"/data/declared/carat", kDecimal, kOptional},
    {"/data/declared/color", kText, kOptional},
    {"/data/declared/shape", kText, kOptional},
    {"/data/declared/mount", kText, kOptional},
    {"/data/declared/stones", kDecimal, kOptional},
    {"/data/declared/value", kDecimal, kOptional},
    {"/data/declared/channel", kText, kOptional},
    {"/data/disclosure", kObject, kOptional},
    {"/data/disclosure/market", kWord, kAlways, kMarkets},
    {"/data/disclosure/rule", kText},
    {"/data/disclosure/source", kText},
    {"/data/disclosure/words", kList},
    {"/data/disclosure/words/*", kText, kOptional},
    {"/data/disclosure/barred", kList},
    {"/data/disclosure/barred/*", kText, kOptional},
    {"/data/disclosure/caution", kText},
    {"/data/merged_into", kText, kOptional},
    {"/data/policy", kObject},
    {"/data/policy/name", kText},
    {"/data/policy/version", kText},
    {"/data/policy/digest", kText},
    {"/data/policy/rule", kNumber},
    {"/data/decided_at", kTime},
    {"/data/notice", kText},
};

const EventField* field_at(std::string_view pointer) {
  const auto at = std::find_if(std::begin(kFields), std::end(kFields),
                               [&](const EventField& field) { return field.pointer == pointer; });
  return at == std::end(kFields) ? nullptr : at;
}

// The table's pointer as a person writes one.
std::string example_of(std::string_view pointer) {
  std::string text(pointer);
  std::replace(text.begin(), text.end(), '*', '0');
  return text;
}

// What stands in the object or list `pointer`: "/data/subject has kind, position and stock_number".
std::string children_of(const EventField& parent) {
  const std::string name = parent.pointer.empty() ? "the event" : example_of(parent.pointer);
  if (parent.kind == kList) return name + " is a list: its first is " + name + "/0";
  std::vector<std::string_view> names;
  for (const EventField& field : kFields) {
    const size_t slash = field.pointer.rfind('/');
    if (slash == std::string_view::npos || field.pointer.substr(0, slash) != parent.pointer)
      continue;
    names.push_back(field.pointer.substr(slash + 1));
  }
  if (names.empty()) return name + " holds nothing else";
  return name + " has " + base::listed(names);
}

// What a person most likely meant, else what there is beside it.
std::string nearest_to(std::string_view pointer, const EventField& deepest) {
  std::vector<std::string> examples;
  for (const EventField& field : kFields) examples.push_back(example_of(field.pointer));
  const std::vector<std::string_view> candidates(examples.begin(), examples.end());
  std::string_view near = base::nearest(pointer, candidates);
  if (near.empty()) near = base::nearest("/data" + std::string(pointer), candidates);
  if (near.empty()) near = base::nearest("/data/" + std::string(pointer), candidates);
  if (!near.empty()) return "did you mean " + std::string(near) + "?";
  return children_of(deepest);
}

}  // namespace

std::span<const EventField> event_fields() { return kFields; }

bool compile_path(std::string_view pointer, EventPath& path, std::string& why) {
  path =
      EventPath{.pointer = std::string(pointer), .steps = {}, .field = &kFields[0], .always = true};
  const auto unknown = [&] {
    why =
        base::in_quotes(pointer) + " is nothing in the event; " + nearest_to(pointer, *path.field);
    return false;
  };
  std::string at;  // in the table
  std::string_view rest = pointer;
  while (!rest.empty()) {
    if (rest.front() != '/') return unknown();
    rest.remove_prefix(1);
    const std::string_view token = rest.substr(0, rest.find('/'));
    rest.remove_prefix(token.size());
    Step step;
    step.is_place = path.field->kind == kList;
    if (step.is_place) {
      const auto place = base::pointer_place(token);
      if (!place) return unknown();
      step.place = *place;
    } else {
      auto name = base::pointer_token(token);
      // A "/" in a name would lead somewhere else in the table.
      if (!name || name->find_first_of("/*") != std::string::npos) return unknown();
      step.name = std::move(*name);
    }
    at += "/" + (step.is_place ? "*" : step.name);
    const EventField* field = field_at(at);
    if (field == nullptr) return unknown();
    path.field = field;
    if (field->presence != kAlways || step.place > 0) path.always = false;
    path.steps.push_back(std::move(step));
  }
  return true;
}

}  // namespace girdle::delivery
