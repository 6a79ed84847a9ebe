#include "casework/weigh.h"

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
  static const Declaration kNone;
  const Declaration& d = declared ? *declared : kNone;
  const model::Reading& r = *m.reading;
  const auto color = inside(m.rules->color, color_value(d.color, given(r, "color", r.color)));
  const auto carat = inside(m.rules->carat, decimal_value(d.carat, given(r, "carat", r.carat)));
  const auto table = inside(m.rules->table_mm, decimal_value(d.table_mm, given(r, "table_mm", r.table_mm)));
  if (color == false || carat == false || table == false) return Scope::kOut;
  return color == true || carat == true ? Scope::kIn : Scope::kUnknown;
}

Evidence weigh(std::span<const Measurement> measurements, const Declaration* declared, const House& house,
               std::vector<Weight>* weights) {
  Evidence evidence;
  evidence.required = house.required;
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

  for (size_t i = 0; i < measurements.size(); ++i) {
    const Measurement& m = measurements[i];
    Weight weight = weight_alone(m);
    if (weight == Weight::kCounted && counted_in > 0 && counted_out > 0 && scope_of(m, declared) == Scope::kOut) {
      weight = Weight::kOutsideScope;
    }
    if (weights) (*weights)[i] = weight;
    switch (weight) {
      case Weight::kVoid:
        ++evidence.voids;
        break;
      case Weight::kOutsideAmbient:
      case Weight::kOutsideScope:
        ++evidence.discounted;
        break;
      case Weight::kCounted:
        evidence.finding = evidence.valid == 0 || evidence.finding == common(m.reading->finding)
                               ? common(m.reading->finding)
                               : Evidence::Common::kMixed;
        ++evidence.valid;
        break;
    }
  }
  if (counted_in > 0) {
    evidence.scope = Scope::kIn;
  } else if (counted_out > 0 && counted_unknown == 0) {
    evidence.scope = Scope::kOut;
  }
  return evidence;
}

}  // namespace girdle::casework
