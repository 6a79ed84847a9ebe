#include "evidence/sequential.h"

#include <algorithm>
#include <cmath>
#include <vector>

namespace girdle::evidence {
namespace {

using model::Finding;

// Against the identity that is hardest to tell from the declared one; infinite where the priors
// hold no other possible.
double log_ratio(Finding declared, const Priors& priors, const LogLikelihoods& likelihoods) {
  const auto place = static_cast<size_t>(declared);
  double least = INFINITY;
  for (size_t i = 0; i < kIdentities; ++i) {
    if (i == place || priors[i] <= 0) continue;
    least = std::min(least, likelihoods[place].value - likelihoods[i].value);
  }
  return least;
}

SequentialState state_of(double log_ratio, const WaldBounds& bounds) {
  if (log_ratio >= bounds.declared) return SequentialState::kDeclared;
  return log_ratio <= bounds.other ? SequentialState::kOther : SequentialState::kUndecided;
}

}  // namespace

WaldBounds wald_bounds(const ErrorLimits& limits) {
  return {std::log((1 - limits.false_alarm) / limits.miss),
          std::log(limits.false_alarm / (1 - limits.miss))};
}

std::optional<SequentialTest> sequential_test(Finding declared, const Priors& priors,
                                              std::span<const InstrumentRuns> instruments,
                                              const ErrorLimits& limits) {
  const auto so_far = log_likelihoods(priors, instruments);
  if (!so_far) return std::nullopt;
  const WaldBounds bounds = wald_bounds(limits);
  SequentialTest test;
  test.log_ratio = log_ratio(declared, priors, *so_far);
  test.state = state_of(test.log_ratio, bounds);
  std::vector<InstrumentRuns> more(instruments.begin(), instruments.end());
  for (int runs = 0; runs <= kMostMoreRuns; ++runs) {
    const auto then = log_likelihoods(priors, more);
    if (then && log_ratio(declared, priors, *then) >= bounds.declared) {
      test.more_runs = runs;
      break;
    }
    ++more.back().runs[static_cast<size_t>(declared)];
  }
  return test;
}

}  // namespace girdle::evidence
