#include "evidence/sequential.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace girdle::evidence {
namespace {

using model::Finding;

// Of the runs so far, and of any number of further ones by the last instrument that answer as declared. What those add
// is a straight sum, but for the weight of the instrument's runs as a whole, so each number of runs costs one sum.
class Ahead {
 public:
  Ahead(Finding declared, const Priors& priors, std::span<const InstrumentRuns> instruments)
      : declared_(static_cast<size_t>(declared)), priors_(priors), last_(instruments.back()) {
    for (size_t i = 0; i < kIdentities; ++i) {
      if (priors[i] <= 0) continue;
      const auto identity = static_cast<Finding>(i);
      for (const InstrumentRuns& instrument : instruments) {
        const int64_t runs = total(instrument);
        if (runs == 0) continue;
        const double sum = log_sum(instrument, identity);
        if (&instrument == &last_) {
          of_last_[i] = sum;
        } else {
          of_others_[i] += sum * effective_runs(runs, instrument.repeat_correlation) / static_cast<double>(runs);
        }
      }
      if (last_.counts) step_[i] = std::log(likelihood(*last_.counts, identity, declared));
    }
  }

  // Of the declared identity against the one that is hardest to tell from it; infinite where the priors hold no other
  // possible.
  double log_ratio(int more_runs) const {
    const int64_t runs = total(last_) + more_runs;
    const double share = runs == 0 ? 0 : effective_runs(runs, last_.repeat_correlation) / static_cast<double>(runs);
    const auto value = [&](size_t i) { return of_others_[i] + share * (of_last_[i] + more_runs * step_[i]); };
    double least = INFINITY;
    for (size_t i = 0; i < kIdentities; ++i) {
      if (i != declared_ && priors_[i] > 0) least = std::min(least, value(declared_) - value(i));
    }
    return least;
  }

 private:
  static int64_t total(const InstrumentRuns& instrument) {
    return std::accumulate(instrument.runs.begin(), instrument.runs.end(), int64_t{0});
  }
  static double log_sum(const InstrumentRuns& instrument, Finding identity) {
    double sum = 0;
    for (size_t answer = 0; answer < kAnswers; ++answer) {
      if (instrument.runs[answer] == 0) continue;
      sum += static_cast<double>(instrument.runs[answer]) *
             std::log(likelihood(*instrument.counts, identity, static_cast<Finding>(answer)));
    }
    return sum;
  }

  size_t declared_;
  const Priors& priors_;
  const InstrumentRuns& last_;
  std::array<double, kIdentities> of_others_{}, of_last_{}, step_{};
};

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
  if (!are_known(priors, instruments)) return std::nullopt;
  const WaldBounds bounds = wald_bounds(limits);
  const Ahead ahead(declared, priors, instruments);
  SequentialTest test;
  test.log_ratio = ahead.log_ratio(0);
  test.state = state_of(test.log_ratio, bounds);
  for (int runs = 0; runs <= kMostMoreRuns; ++runs) {
    if (ahead.log_ratio(runs) < bounds.declared) continue;
    test.more_runs = runs;
    break;
  }
  return test;
}

}  // namespace girdle::evidence
