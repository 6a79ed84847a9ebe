#include "casework/weigh.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <tuple>
#include <utility>

#include "casework/decide.h"
#include "evidence/carat.h"
#include "evidence/colour_grade.h"

namespace girdle::casework {
namespace {

using base::Decimal;
using model::Declaration;
using model::common;
using model::Evidence;
using model::Finding;
using model::Scope;
using policy::Value;

// Nothing where the value is not known: no limit is broken, and none is kept.
std::optional<bool> inside(const std::optional<Limit>& limit, const Value& value) {
  if (!limit || policy::is_null(value)) return std::nullopt;
  return limit->holds(value);
}

Value decimal_value(const std::optional<Decimal>& declared, const std::optional<Decimal>& read) {
  if (declared) return *declared;
  if (read) return *read;
  return {};
}

Value color_value(std::string_view declared, std::string_view read) {
  const auto rank = evidence::colour_rank(declared.empty() ? read : declared);
  return rank ? Value(Decimal(*rank)) : Value();
}

// What the reading gave; its mapping's defaults are no evidence.
template <class Field>
Field given(const model::Reading& reading, std::string_view name, const Field& value) {
  return model::is_default(reading, name) ? Field() : value;
}

bool outside_ambient(const Measurement& m) {
  const auto temperature = given(*m.reading, "temperature_c", m.reading->temperature_c);
  const auto humidity = given(*m.reading, "humidity_pct", m.reading->humidity_pct);
  return inside(m.rules->temperature_c, decimal_value({}, temperature)) == false ||
         inside(m.rules->humidity_pct, decimal_value({}, humidity)) == false;
}

std::vector<model::Said> said_by(const std::vector<const model::Reading*>& counted) {
  if (counted.empty()) return {};
  const model::Reading& first = *counted.front();
  const bool is_one_voice = std::ranges::all_of(counted, [&](const model::Reading* r) {
    return r->finding == first.finding && r->instrument == first.instrument;
  });
  if (is_one_voice) return {{first.finding, first.instrument, static_cast<int>(counted.size())}};
  struct Voice {
    base::Instant last{};
    model::Said said;
  };
  std::vector<Voice> voices;
  for (const model::Reading* r : counted) {
    auto at = std::ranges::find_if(voices, [r](const Voice& voice) {
      return voice.said.finding == r->finding && voice.said.instrument == r->instrument;
    });
    if (at == voices.end()) at = voices.insert(at, {r->measured_at, {r->finding, r->instrument, 0}});
    at->last = std::max(at->last, r->measured_at);
    ++at->said.runs;
  }
  const auto by_last = [](const Voice& voice) {
    return std::tuple(voice.last, std::string_view(voice.said.instrument), voice.said.finding);
  };
  std::ranges::sort(voices, {}, by_last);
  std::vector<model::Said> said;
  said.reserve(voices.size());
  for (Voice& voice : voices) said.push_back(std::move(voice.said));
  return said;
}

template <class Value>
bool is_given(const std::optional<Value>& field) {
  return field.has_value();
}
bool is_given(const std::string& field) { return !field.empty(); }

// What all counted readings that give a field say of it; nothing where they differ, or none gives it.
template <class Field>
Field agreed(const std::vector<const model::Reading*>& counted, std::string_view name, Field model::Reading::*field) {
  Field found{};
  for (const model::Reading* r : counted) {
    const Field& given = r->*field;
    if (!is_given(given) || model::is_default(*r, name)) continue;
    if (is_given(found) && found != given) return {};
    found = given;
  }
  return found;
}

// As declared, else as the readings agree.
template <class Field>
Field known(const Field& declared, const std::vector<const model::Reading*>& counted, std::string_view name,
            Field model::Reading::*field) {
  return is_given(declared) ? declared : agreed(counted, name, field);
}

const Declaration& or_none(const Declaration* declared) {
  static const Declaration kNone;
  return declared ? *declared : kNone;
}

model::Stone stone_of(const Declaration* declared, const std::vector<const model::Reading*>& counted) {
  const Declaration& d = or_none(declared);
  model::Stone stone;
  stone.carat = known(d.carat, counted, "carat", &model::Reading::carat);
  stone.color = known(d.color, counted, "color", &model::Reading::color);
  stone.shape = known(d.shape, counted, "shape", &model::Reading::shape);
  stone.stones = d.stones;
  stone.value = d.value;
  stone.mount = d.mount;
  stone.channel = d.channel;
  return stone;
}

// By the formula of the shape; nothing where it, or a measurement, is not known.
std::optional<model::CaratEstimate> estimate_of(const Declaration* declared,
                                                const std::vector<const model::Reading*>& counted,
                                                const model::Stone& stone) {
  constexpr int kPlaces = 4;
  if (stone.shape.empty()) return std::nullopt;
  const auto cut = evidence::cut_of(stone.shape);
  const Declaration& d = or_none(declared);
  const auto length = known(d.length_mm, counted, "length_mm", &model::Reading::length_mm);
  const auto width = known(d.width_mm, counted, "width_mm", &model::Reading::width_mm);
  const auto depth = known(d.depth_mm, counted, "depth_mm", &model::Reading::depth_mm);
  if (!cut || !length || !width || !depth) return std::nullopt;
  const evidence::Measurements measured{*length, *width, *depth};
  const auto estimate = evidence::estimate_carat(*cut, measured);
  if (!estimate) return std::nullopt;
  model::CaratEstimate rounded{estimate->carat.rounded(kPlaces), estimate->low.rounded(kPlaces),
                               estimate->high.rounded(kPlaces), {}};
  if (d.carat) rounded.plausible = evidence::is_plausible(*d.carat, *cut, measured);
  return rounded;
}

// Six decimals of a probability, towards the inside: nothing is certain.
Decimal six_places(double probability, double (*round)(double)) {
  constexpr double kScale = 1e6;
  const auto millionths = static_cast<int64_t>(round(probability * kScale));
  return *Decimal::make(std::clamp<int64_t>(millionths, 1, 999'999), -6);
}

// The runs of each instrument; the one that spoke last stands last.
std::vector<evidence::InstrumentRuns> runs_of(const std::vector<model::Said>& said, const House& house) {
  std::vector<std::string_view> serials;
  for (const model::Said& one : said) {
    std::erase(serials, one.instrument);
    serials.push_back(one.instrument);
  }
  std::vector<evidence::InstrumentRuns> runs;
  for (const std::string_view serial : serials) {
    evidence::InstrumentRuns& of = runs.emplace_back();
    const auto& counts = house.rules_of(serial).known_stones;
    of.counts = counts ? &*counts : nullptr;
    of.repeat_correlation = house.repeat_correlation;
    for (const model::Said& one : said) {
      if (one.instrument == serial) of.runs[static_cast<size_t>(one.finding)] += one.runs;
    }
  }
  return runs;
}

void judge_identity(Evidence& e, const House& house) {
  e.probability.reset();
  e.error_limits = model::ErrorLimits::kUnknown;
  e.more_runs.reset();
  const evidence::Priors* priors = house.priors_of(e.stone.channel);
  if (!priors || e.said.empty()) return;
  const std::vector<evidence::InstrumentRuns> runs = runs_of(e.said, house);
  const Finding asked = e.declared.value_or(Finding::kNatural);
  const auto probability = evidence::identity_probability(asked, *priors, runs, house.confidence);
  if (!probability) return;
  e.probability = model::Probability{asked, six_places(probability->of[static_cast<size_t>(asked)], std::round),
                                     six_places(probability->interval.low, std::floor),
                                     six_places(probability->interval.high, std::ceil)};
  const auto test = evidence::sequential_test(asked, *priors, runs, house.error_limits);
  if (!test) return;
  e.error_limits = static_cast<model::ErrorLimits>(test->state);
  e.more_runs = test->more_runs;
}
static_assert(static_cast<int>(evidence::SequentialState::kDeclared) == static_cast<int>(model::ErrorLimits::kMet));
static_assert(static_cast<int>(evidence::SequentialState::kOther) == static_cast<int>(model::ErrorLimits::kAgainst));
static_assert(static_cast<int>(evidence::SequentialState::kUndecided) == static_cast<int>(model::ErrorLimits::kOpen));

}  // namespace

std::string_view text(Weight weight) {
  switch (weight) {
    case Weight::kCounted: return "counts";
    case Weight::kVoid: return "no valid measurement";
    case Weight::kOutsideAmbient: return "discounted: outside the instrument's ambient limits";
    case Weight::kOutsideScope: return "discounted: outside the instrument's scope, others are inside";
  }
  return "";
}

Scope scope_of(const Measurement& m, const Declaration* declared) {
  if (!m.rules->has_scope()) return Scope::kUnknown;
  const Declaration& d = or_none(declared);
  const model::Reading& r = *m.reading;
  const auto color = inside(m.rules->color, color_value(d.color, given(r, "color", r.color)));
  const auto carat = inside(m.rules->carat, decimal_value(d.carat, given(r, "carat", r.carat)));
  const auto table = inside(m.rules->table_mm, decimal_value(d.table_mm, given(r, "table_mm", r.table_mm)));
  if (color == false || carat == false || table == false) return Scope::kOut;
  return color == true || carat == true ? Scope::kIn : Scope::kUnknown;
}

model::SubjectKind kind_of(const Declaration* declared, std::span<const Measurement> measurements) {
  if (declared && declared->subject_kind) return *declared->subject_kind;
  std::optional<std::pair<base::Instant, model::SubjectKind>> earliest;
  for (const Measurement& m : measurements) {
    if (!m.reading->subject_kind || is_default(*m.reading, "subject_kind")) continue;
    const std::pair one(m.reading->measured_at, *m.reading->subject_kind);
    if (!earliest || one < *earliest) earliest = one;
  }
  return earliest ? earliest->second : model::SubjectKind::kStone;
}

void complete(Evidence& e, const House& house) {
  std::array<int, model::kFindings> runs{};
  std::vector<std::string_view> instruments;
  for (const model::Said& one : e.said) {
    runs[static_cast<size_t>(one.finding)] += one.runs;
    if (std::ranges::find(instruments, one.instrument) == instruments.end()) instruments.push_back(one.instrument);
  }
  e.valid = std::accumulate(runs.begin(), runs.end(), 0);
  const auto most = std::ranges::max_element(runs);
  e.dissent = e.valid - *most;
  e.instruments = static_cast<int>(instruments.size());
  e.finding = e.valid == 0     ? Evidence::Common::kNone
              : e.dissent == 0 ? common(static_cast<Finding>(most - runs.begin()))
                               : Evidence::Common::kMixed;
  e.required = required_runs(e, house);
  judge_identity(e, house);
}

Evidence weigh(std::span<const Measurement> measurements, const Declaration* declared, const House& house,
               std::vector<Weight>* weights) {
  Evidence evidence;
  if (declared) evidence.declared = declared->identity;
  if (weights) weights->assign(measurements.size(), Weight::kCounted);

  // First pass: what each is worth by itself, and whether any is inside scope.
  const auto weight_alone = [](const Measurement& m) {
    if (m.reading->finding == Finding::kVoid) return Weight::kVoid;
    return outside_ambient(m) ? Weight::kOutsideAmbient : Weight::kCounted;
  };
  int counted_in = 0, counted_out = 0, counted_unknown = 0;
  for (const Measurement& m : measurements) {
    if (weight_alone(m) != Weight::kCounted) continue;
    switch (scope_of(m, declared)) {
      case Scope::kIn: ++counted_in; break;
      case Scope::kOut: ++counted_out; break;
      case Scope::kUnknown: ++counted_unknown; break;
    }
  }

  std::vector<const model::Reading*> counted;
  for (size_t i = 0; i < measurements.size(); ++i) {
    const Measurement& m = measurements[i];
    Weight weight = weight_alone(m);
    if (weight == Weight::kCounted && counted_in > 0 && counted_out > 0 && scope_of(m, declared) == Scope::kOut) {
      weight = Weight::kOutsideScope;
    }
    if (weights) (*weights)[i] = weight;
    switch (weight) {
      case Weight::kVoid: ++evidence.voids; break;
      case Weight::kOutsideAmbient:
      case Weight::kOutsideScope: ++evidence.discounted; break;
      case Weight::kCounted: counted.push_back(m.reading); break;
    }
  }
  if (counted_in > 0) {
    evidence.scope = Scope::kIn;
  } else if (counted_out > 0 && counted_unknown == 0) {
    evidence.scope = Scope::kOut;
  }
  evidence.said = said_by(counted);
  evidence.stone = stone_of(declared, counted);
  evidence.stone.kind = kind_of(declared, measurements);
  evidence.carat_estimate = estimate_of(declared, counted, evidence.stone);
  complete(evidence, house);
  return evidence;
}

}  // namespace girdle::casework
