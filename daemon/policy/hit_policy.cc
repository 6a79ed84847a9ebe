#include "policy/hit_policy.h"

#include <algorithm>
#include <array>
#include <string>

#include "base/text.h"

namespace girdle::policy {
namespace {

using base::in_quotes;

// In the order of the enumerations.
constexpr std::array<std::string_view, 7> kPolicies = {
    "UNIQUE", "ANY", "PRIORITY", "FIRST", "COLLECT", "RULE ORDER", "OUTPUT ORDER"};
constexpr std::array<std::string_view, 5> kAggregations = {"", "SUM", "MIN", "MAX", "COUNT"};

base::Result<size_t> place_of(std::string_view name, std::span<const std::string_view> names,
                              std::string_view what) {
  const auto found = std::find(names.begin(), names.end(), name);
  if (found != names.end()) return static_cast<size_t>(found - names.begin());
  const auto possible = names.front().empty() ? names.subspan(1) : names;
  return base::input_error("unknown " + std::string(what) + " " + in_quotes(name) + "; it is one of " +
                           base::listed(possible, "or"));
}

}  // namespace

base::Result<HitPolicy> hit_policy_named(std::string_view name) {
  const auto place = place_of(name, kPolicies, "hit policy");
  if (!place) return place.error();
  return static_cast<HitPolicy>(*place);
}

base::Result<Aggregation> aggregation_named(std::string_view name) {
  const auto place = place_of(name, kAggregations, "aggregation");
  if (!place) return place.error();
  return static_cast<Aggregation>(*place);
}

std::string_view name_of(HitPolicy policy) { return kPolicies[static_cast<size_t>(policy)]; }

std::string_view name_of(Aggregation aggregation) {
  return kAggregations[static_cast<size_t>(aggregation)];
}

std::optional<base::Decimal> aggregated(Aggregation aggregation, std::span<const Value> values) {
  if (aggregation == Aggregation::kCount) {
    return base::Decimal(static_cast<int64_t>(values.size()));
  }
  std::optional<base::Decimal> result;
  for (const Value& value : values) {
    const auto* number = std::get_if<base::Decimal>(&value);
    if (number == nullptr) return std::nullopt;
    const bool replaces = !result || (aggregation == Aggregation::kMin && *number < *result) ||
                          (aggregation == Aggregation::kMax && *number > *result);
    if (replaces) {
      result = *number;
    } else if (aggregation == Aggregation::kSum) {
      result = add(*result, *number);
      if (!result) return std::nullopt;
    }
  }
  return result;
}

}  // namespace girdle::policy
