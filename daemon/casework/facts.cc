#include "casework/facts.h"

#include <algorithm>
#include <array>

#include "base/text.h"

namespace girdle::casework {
namespace {

using base::Decimal;
using model::Evidence;
using model::Finding;
using policy::Type;
using policy::Value;

constexpr std::string_view kIdentities =
    R"("natural", "laboratory_grown", "treated", "composite", "simulant", "none")";
constexpr std::string_view kFindings =
    R"("natural", "laboratory_grown", "treated", "composite", "simulant", "indeterminate", "mixed", "none")";
constexpr std::string_view kDispositions = R"("reject", "hold", "refer", "repeat", "release")";
constexpr std::string_view kUndeclared = "the inventory does not say";
constexpr std::string_view kNobodySays =
    "neither inventory nor readings say, or the readings differ";
constexpr std::string_view kNoCounts =
    "an instrument's `known_stones`, or the policy's `priors`, are not given";
constexpr std::string_view kNoMeasurements =
    "shape, length, width or depth are not known, or the shape has no formula";

enum Place : size_t {
  kDeclared,
  kKind,
  kCarat,
  kColor,
  kShape,
  kMount,
  kChannel,
  kStones,
  kValue,
  kStoneEnd,
  kFinding = kStoneEnd,
  kValid,
  kVoids,
  kDiscounted,
  kRequired,
  kMissing,
  kInstruments,
  kDissent,
  kScope,
  kInstrument,
  kAcceptUnknownScope,
  kAcceptedScope,
  kProbability,
  kProbabilityLow,
  kProbabilityHigh,
  kErrorLimits,
  kMoreRuns,
  kCaratEstimate,
  kCaratLow,
  kCaratHigh,
  kCaratPlausible,
  kEvidenceEnd,
  kDisposition = kEvidenceEnd,
  kReason,
  kPrevious,
  kAnswerEnd,
};

// clang-format off
constexpr std::array<Fact, kAnswerEnd> kFacts = {{
    {"declared", Type::kString, kIdentities, {}, "The identity that the inventory claims; `\"none\"`: nobody claimed one", {}},
    {"kind", Type::kString, R"("stone", "piece", "parcel")", {}, "What was measured", {}},
    {"carat", Type::kNumber, "> 0", "ct", "As declared, else as the readings give it", kNobodySays},
    {"color", Type::kString, {}, {}, "As declared, else as the readings give it: `\"D\"` to `\"Z\"`, or another word", kNobodySays},
    {"shape", Type::kString, {}, {}, "As declared, else as the readings give it", kNobodySays},
    {"mount", Type::kString, {}, {}, "As declared, in the house's words", kUndeclared},
    {"channel", Type::kString, {}, {}, "As declared, in the house's words", kUndeclared},
    {"stones", Type::kNumber, ">= 0", {}, "How many a piece or a parcel has, as declared", kUndeclared},
    {"value", Type::kNumber, {}, "the house's money", "As declared", kUndeclared},

    {"finding", Type::kString, kFindings, {}, "What all readings that count say; `\"mixed\"` where two of them differ, be it natural and indeterminate; `\"none\"` where none counts", {}},
    {"valid", Type::kNumber, ">= 0", "runs", "Valid readings that count", {}, true},
    {"voids", Type::kNumber, ">= 0", "runs", "Runs without a valid measurement", {}, true},
    {"discounted", Type::kNumber, ">= 0", "runs", "Readings outside the instrument's ambient limits, or outside its scope where others are inside", {}, true},
    {"required", Type::kNumber, ">= 1", "runs", "Runs that the policy asks of this stone", {}, true},
    {"missing", Type::kNumber, ">= 0", "runs", "`required` less `valid`, at least 0", {}, true},
    {"instruments", Type::kNumber, ">= 0", {}, "How many different devices made the readings that count", {}, true},
    {"dissent", Type::kNumber, ">= 0", "runs", "Readings that count and do not say what most of them say", {}, true},
    {"scope", Type::kString, R"("in", "out", "unknown")", {}, "Whether an instrument can judge the stone: `\"in\"` where a reading that counts comes from one whose scope is given, the stone's carat or colour is known and inside it, and nothing known lies outside; `\"out\"` where all lie outside", {}},
    {"instrument", Type::kString, R"("fit", "unfit", "unknown")", {}, "Whether the instrument is verified; in this version always `\"unknown\"`", {}},
    {"accept_unknown_scope", Type::kBoolean, {}, {}, "The parameter of that name", {}},
    {"accepted_scope", Type::kString, R"("unknown")", {}, "`\"unknown\"`, for a cell such as `\"in\", accepted_scope`", "`accept_unknown_scope` is not `true`"},
    {"probability", Type::kNumber, "[0..1]", {}, "That the stone is what is declared; of an undeclared one, that it is natural", kNoCounts},
    {"probability_low", Type::kNumber, "[0..1]", {}, "Its interval, at the parameter `confidence`", kNoCounts},
    {"probability_high", Type::kNumber, "[0..1]", {}, "The same", kNoCounts},
    {"error_limits", Type::kString, R"("met", "against", "open", "unknown")", {}, "Whether the runs are enough, by the parameters `miss_limit` and `false_alarm_limit`, to take the stone as declared (`met`) or as something else (`against`)", {}},
    {"more_runs", Type::kNumber, ">= 0", "runs", "That agree with the declaration, until the error limits are met", "no counts, no priors, or no number is enough", true},
    {"carat_estimate", Type::kNumber, "> 0", "ct", "From shape and measurements", kNoMeasurements},
    {"carat_low", Type::kNumber, "> 0", "ct", "The estimate's error band", kNoMeasurements},
    {"carat_high", Type::kNumber, "> 0", "ct", "The same", kNoMeasurements},
    {"carat_plausible", Type::kBoolean, {}, {}, "Whether the declared carat fits the measurements", "there is no estimate, or no declared carat"},

    {"disposition", Type::kString, kDispositions, {}, "What was decided", {}},
    {"reason", Type::kString, {}, {}, "The code of the reason", {}},
    {"previous", Type::kString, kDispositions, {}, "The disposition of the outcome before, of the same case", "it is the first"},
}};
// clang-format on

Value number_or_null(const std::optional<Decimal>& number) {
  return number ? Value(*number) : Value();
}
Value text_or_null(const std::string& text) { return text.empty() ? Value() : Value(text); }
Value word(std::string_view text) { return Value(std::string(text)); }
Value whole(int number) { return Value(Decimal(number)); }

template <class Word>
base::Result<void> set_word(const Fact& fact, std::string_view text, std::optional<Word> found,
                            Word& to) {
  if (!found) {
    return base::input_error(std::string(fact.name) + " is no " + base::in_quotes(text) +
                             "; it is one of " + std::string(fact.values));
  }
  to = *found;
  return {};
}

std::optional<Evidence::Common> common_of(std::string_view word) {
  for (int i = 0; i <= static_cast<int>(Evidence::Common::kNone); ++i) {
    if (text(static_cast<Evidence::Common>(i)) == word) return static_cast<Evidence::Common>(i);
  }
  return std::nullopt;
}

template <class Enum>
std::optional<Enum> word_of(std::string_view word, int count) {
  for (int i = 0; i < count; ++i) {
    if (text(static_cast<Enum>(i)) == word) return static_cast<Enum>(i);
  }
  return std::nullopt;
}

base::Result<Decimal> number_of(const Fact& fact, std::string_view text) {
  const auto wrong = [&](const std::string& why) {
    return base::input_error(std::string(fact.name) + " is no " + base::in_quotes(text) + why);
  };
  const auto number = Decimal::parse(text);
  if (!number) return wrong("; it is a number such as 0.53");
  if (fact.is_whole && (!number->as_integer() || *number > Decimal(1'000'000)))
    return wrong("; it is a whole number");
  if (fact.values.empty()) return *number;
  const auto allowed = policy::UnaryTest::parse(fact.values);
  if (allowed && allowed->matches(Value(*number), {}) == false)
    return wrong("; it is " + std::string(fact.values));
  return *number;
}

base::Result<void> set_number(const Fact& fact, std::string_view text, std::optional<Decimal>& to) {
  auto number = number_of(fact, text);
  if (!number) return number.error();
  to = *number;
  return {};
}

base::Result<void> set_count(const Fact& fact, std::string_view text, int& to) {
  auto number = number_of(fact, text);
  if (!number) return number.error();
  to = static_cast<int>(number->as_integer().value_or(0));
  return {};
}

base::Result<void> set_declared(const Fact& fact, std::string_view text,
                                std::optional<Finding>& to) {
  auto found = model::finding_of(text);
  if (found && *found >= Finding::kIndeterminate) found.reset();
  Finding identity{};
  if (text != "none") {
    if (auto set = set_word(fact, text, found, identity); !set) return set;
  }
  to = found;
  return {};
}

}  // namespace

std::span<const Fact> facts_of(FactSet set) {
  constexpr size_t kEnds[] = {kStoneEnd, kEvidenceEnd, kAnswerEnd};
  return std::span(kFacts).first(kEnds[static_cast<size_t>(set)]);
}

std::vector<std::string_view> fact_names(FactSet set) {
  std::vector<std::string_view> names;
  for (const Fact& fact : facts_of(set)) names.push_back(fact.name);
  return names;
}

std::vector<policy::KnownFact> known_facts(FactSet set) {
  std::vector<policy::KnownFact> facts;
  for (const Fact& fact : facts_of(set)) {
    facts.push_back({fact.name, fact.type, fact.unknown_when.empty()});
  }
  return facts;
}

std::vector<policy::ProofFact> proof_facts(FactSet set) {
  std::vector<policy::ProofFact> facts;
  for (const Fact& fact : facts_of(set)) {
    facts.push_back({fact.name, fact.unknown_when.empty(), fact.is_whole, fact.values});
  }
  return facts;
}

std::optional<size_t> place_of(std::string_view name) {
  const auto at = std::ranges::find(kFacts, name, &Fact::name);
  if (at == kFacts.end()) return std::nullopt;
  return static_cast<size_t>(at - kFacts.begin());
}

Value value_at(size_t place, const Evidence& e, Settings settings, const Answer* answer) {
  switch (static_cast<Place>(place)) {
    case kDeclared:
      return word(e.declared ? text(*e.declared) : "none");
    case kKind:
      return word(text(e.stone.kind));
    case kCarat:
      return number_or_null(e.stone.carat);
    case kColor:
      return text_or_null(e.stone.color);
    case kShape:
      return text_or_null(e.stone.shape);
    case kMount:
      return text_or_null(e.stone.mount);
    case kChannel:
      return text_or_null(e.stone.channel);
    case kStones:
      return number_or_null(e.stone.stones);
    case kValue:
      return number_or_null(e.stone.value);
    case kFinding:
      return word(text(e.finding));
    case kValid:
      return whole(e.valid);
    case kVoids:
      return whole(e.voids);
    case kDiscounted:
      return whole(e.discounted);
    case kRequired:
      return whole(e.required);
    case kMissing:
      return whole(e.missing());
    case kInstruments:
      return whole(e.instruments);
    case kDissent:
      return whole(e.dissent);
    case kScope:
      return word(text(e.scope));
    case kInstrument:
      return word(text(e.instrument));
    case kAcceptUnknownScope:
      return Value(settings.accept_unknown_scope);
    case kAcceptedScope:
      return settings.accept_unknown_scope ? word("unknown") : Value();
    case kProbability:
      return e.probability ? Value(e.probability->value) : Value();
    case kProbabilityLow:
      return e.probability ? Value(e.probability->low) : Value();
    case kProbabilityHigh:
      return e.probability ? Value(e.probability->high) : Value();
    case kErrorLimits:
      return word(text(e.error_limits));
    case kMoreRuns:
      return e.more_runs ? whole(*e.more_runs) : Value();
    case kCaratEstimate:
      return e.carat_estimate ? Value(e.carat_estimate->carat) : Value();
    case kCaratLow:
      return e.carat_estimate ? Value(e.carat_estimate->low) : Value();
    case kCaratHigh:
      return e.carat_estimate ? Value(e.carat_estimate->high) : Value();
    case kCaratPlausible:
      return e.carat_estimate && e.carat_estimate->plausible ? Value(*e.carat_estimate->plausible)
                                                             : Value();
    case kDisposition:
      return answer ? word(text(answer->disposition)) : Value();
    case kReason:
      return answer ? word(answer->reason) : Value();
    case kPrevious:
      return answer && answer->previous ? word(text(*answer->previous)) : Value();
    case kAnswerEnd:
      break;
  }
  return {};
}

base::Result<void> set_fact(std::string_view name, std::string_view text, Evidence& e) {
  const auto place = place_of(name);
  if (!place || *place >= kEvidenceEnd) {
    const std::string_view near = base::nearest(name, fact_names(FactSet::kEvidence));
    return base::input_error(
        base::in_quotes(name) + " is no fact of a case" +
        (near.empty() ? std::string() : "; did you mean " + std::string(near) + "?"));
  }
  const Fact& fact = kFacts[*place];
  const auto probability = [&](Decimal model::Probability::*member) -> base::Result<void> {
    auto given = number_of(fact, text);
    if (!given) return given.error();
    if (!e.probability)
      e.probability =
          model::Probability{e.declared.value_or(Finding::kNatural), *given, *given, *given};
    (*e.probability).*member = *given;
    return {};
  };
  const auto estimate = [&](Decimal model::CaratEstimate::*member) -> base::Result<void> {
    auto given = number_of(fact, text);
    if (!given) return given.error();
    if (!e.carat_estimate) e.carat_estimate = model::CaratEstimate{*given, *given, *given, {}};
    (*e.carat_estimate).*member = *given;
    return {};
  };
  switch (static_cast<Place>(*place)) {
    case kDeclared:
      return set_declared(fact, text, e.declared);
    case kKind:
      return set_word(fact, text, model::subject_kind_of(text), e.stone.kind);
    case kCarat:
      return set_number(fact, text, e.stone.carat);
    case kColor:
      e.stone.color = text;
      return {};
    case kShape:
      e.stone.shape = text;
      return {};
    case kMount:
      e.stone.mount = text;
      return {};
    case kChannel:
      e.stone.channel = text;
      return {};
    case kStones:
      return set_number(fact, text, e.stone.stones);
    case kValue:
      return set_number(fact, text, e.stone.value);
    case kFinding:
      return set_word(fact, text, common_of(text), e.finding);
    case kValid:
      return set_count(fact, text, e.valid);
    case kVoids:
      return set_count(fact, text, e.voids);
    case kDiscounted:
      return set_count(fact, text, e.discounted);
    case kRequired:
      return set_count(fact, text, e.required);
    case kInstruments:
      return set_count(fact, text, e.instruments);
    case kDissent:
      return set_count(fact, text, e.dissent);
    case kScope:
      return set_word(fact, text, word_of<model::Scope>(text, 3), e.scope);
    case kInstrument:
      return set_word(fact, text, word_of<model::Fitness>(text, 3), e.instrument);
    case kProbability:
      return probability(&model::Probability::value);
    case kProbabilityLow:
      return probability(&model::Probability::low);
    case kProbabilityHigh:
      return probability(&model::Probability::high);
    case kErrorLimits:
      return set_word(fact, text, word_of<model::ErrorLimits>(text, 4), e.error_limits);
    case kMoreRuns: {
      int runs = 0;
      auto set = set_count(fact, text, runs);
      if (set) e.more_runs = runs;
      return set;
    }
    case kCaratEstimate:
      return estimate(&model::CaratEstimate::carat);
    case kCaratLow:
      return estimate(&model::CaratEstimate::low);
    case kCaratHigh:
      return estimate(&model::CaratEstimate::high);
    case kCaratPlausible: {
      if (text != "true" && text != "false")
        return base::input_error("carat_plausible is true or false");
      if (!e.carat_estimate) e.carat_estimate.emplace();
      e.carat_estimate->plausible = text == "true";
      return {};
    }
    case kMissing:
    case kAcceptUnknownScope:
    case kAcceptedScope:
    case kDisposition:
    case kReason:
    case kPrevious:
    case kAnswerEnd:
      break;
  }
  return base::input_error(std::string(name) +
                           " follows from other facts or from the parameters: leave it out");
}

}  // namespace girdle::casework
