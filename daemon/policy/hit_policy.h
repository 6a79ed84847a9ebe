// What becomes of the rules that match: DMN 1.5, 8.2.10 and 10.3.2.10.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

#include "base/result.h"
#include "policy/value.h"

namespace girdle::policy {

enum class HitPolicy : uint8_t {
  kUnique,       // at most one rule matches
  kAny,          // all that match say the same
  kPriority,     // the one whose output stands first in the outputs' allowed values
  kFirst,        // the one with the lowest number
  kCollect,      // all of them, or one number made of them
  kRuleOrder,    // all of them, by number
  kOutputOrder,  // all of them, by the outputs' allowed values
};

enum class Aggregation : uint8_t { kNone, kSum, kMin, kMax, kCount };

// As table files write them: UNIQUE, "RULE ORDER"; SUM, and an empty text for none. Errors name
// what is possible.
base::Result<HitPolicy> hit_policy_named(std::string_view name);
base::Result<Aggregation> aggregation_named(std::string_view name);

std::string_view name_of(HitPolicy policy);
std::string_view name_of(Aggregation aggregation);

constexpr bool gives_list(HitPolicy policy) {
  return policy == HitPolicy::kCollect || policy == HitPolicy::kRuleOrder ||
         policy == HitPolicy::kOutputOrder;
}

constexpr bool ranks_outputs(HitPolicy policy) {
  return policy == HitPolicy::kPriority || policy == HitPolicy::kOutputOrder;
}

// One number of the outputs of all hits, equal ones counted each (8.2.10 item 7). Nothing when one
// of them is no number, or when the exact sum has more than 34 digits. `values` is not empty,
// `aggregation` not kNone.
std::optional<base::Decimal> aggregated(Aggregation aggregation, std::span<const Value> values);

}  // namespace girdle::policy
