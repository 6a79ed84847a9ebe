#include "evidence/identity_probability.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace girdle::evidence {
namespace {

using model::Finding;

int64_t total(const Answers& runs) { return std::accumulate(runs.begin(), runs.end(), int64_t{0}); }

bool knows(const InstrumentRuns& instrument, const Priors& priors) {
  if (total(instrument.runs) == 0) return true;
  if (instrument.counts == nullptr) return false;
  for (size_t i = 0; i < kIdentities; ++i) {
    if (priors[i] > 0 && instrument.counts->trials(static_cast<Finding>(i)) == 0) return false;
  }
  return true;
}

std::array<double, kIdentities> posterior(const Priors& priors, const LogLikelihoods& likelihoods) {
  double greatest = -INFINITY;
  for (size_t i = 0; i < kIdentities; ++i) {
    if (priors[i] > 0) greatest = std::max(greatest, likelihoods[i].value);
  }
  std::array<double, kIdentities> of{};
  for (size_t i = 0; i < kIdentities; ++i) {
    if (priors[i] > 0) of[i] = priors[i] * std::exp(likelihoods[i].value - greatest);
  }
  const double sum = std::accumulate(of.begin(), of.end(), 0.0);
  for (double& p : of) p /= sum;
  return of;
}

// log odds = log(prior_d L_d) - log(sum over the others of prior_j L_j): its derivative is 1 in
// log L_d, and minus the share among the others in each log L_j.
Interval interval_of(size_t declared, const std::array<double, kIdentities>& of,
                     const LogLikelihoods& likelihoods, double confidence) {
  const double p = of[declared], rest = 1 - p;
  if (p <= 0 || rest <= 0) return {p, p};
  double variance = likelihoods[declared].variance;
  for (size_t i = 0; i < kIdentities; ++i) {
    if (i == declared) continue;
    const double share = of[i] / rest;
    variance += share * share * likelihoods[i].variance;
  }
  const double reach = normal_quantile((1 + confidence) / 2) * std::sqrt(variance);
  const double log_odds = std::log(p / rest);
  const auto probability = [](double odds) { return 1 / (1 + std::exp(-odds)); };
  return {probability(log_odds - reach), probability(log_odds + reach)};
}

}  // namespace

double effective_runs(int64_t runs, double repeat_correlation) {
  const auto n = static_cast<double>(runs);
  return runs <= 1 ? n : n / (1 + (n - 1) * repeat_correlation);
}

bool are_known(const Priors& priors, std::span<const InstrumentRuns> instruments) {
  const auto any_run = [](const InstrumentRuns& of) { return total(of.runs) > 0; };
  const auto known = [&](const InstrumentRuns& of) { return knows(of, priors); };
  return std::ranges::any_of(instruments, any_run) && std::ranges::all_of(instruments, known);
}

std::optional<LogLikelihoods> log_likelihoods(const Priors& priors,
                                              std::span<const InstrumentRuns> instruments) {
  if (!are_known(priors, instruments)) return std::nullopt;
  LogLikelihoods sums{};
  for (const InstrumentRuns& instrument : instruments) {
    const int64_t runs = total(instrument.runs);
    if (runs == 0) continue;
    const double share =
        effective_runs(runs, instrument.repeat_correlation) / static_cast<double>(runs);
    for (size_t i = 0; i < kIdentities; ++i) {
      const LogLikelihood one =
          log_likelihood(*instrument.counts, static_cast<Finding>(i), instrument.runs);
      sums[i].value += share * one.value;
      sums[i].variance += share * share * one.variance;
    }
  }
  return sums;
}

std::optional<IdentityProbability> identity_probability(Finding declared, const Priors& priors,
                                                        std::span<const InstrumentRuns> instruments,
                                                        double confidence) {
  const auto likelihoods = log_likelihoods(priors, instruments);
  if (!likelihoods) return std::nullopt;
  IdentityProbability probability;
  probability.of = posterior(priors, *likelihoods);
  const auto place = static_cast<size_t>(declared);
  probability.interval = interval_of(place, probability.of, *likelihoods, confidence);
  return probability;
}

}  // namespace girdle::evidence
