// How probable it is that a stone is what it is declared to be: Bayes' rule over the identities.
//
// Pure. Probabilities are between 0 and 1. The last digits of a double may differ between machines:
// what enters a policy or an outcome is rounded first.
#pragma once

#include <array>
#include <optional>
#include <span>

#include "evidence/confusion.h"
#include "evidence/proportion.h"

namespace girdle::evidence {

// How often each identity comes by this channel, before any measurement; sums to 1. A zero says
// that it never comes, and no measurement can change that.
using Priors = std::array<double, kIdentities>;

// Runs of one instrument on one stone.
struct InstrumentRuns {
  const ConfusionCounts* counts = nullptr;  // of that instrument; null: not known
  Answers runs{};
  // How much the runs repeat each other, 0 (independent) to 1 (all as one).
  double repeat_correlation = 1;
};

// Runs that repeat each other tell less than as many independent ones. The design effect of
// clusters (L. Kish, Survey Sampling, 1965, 5.4, from memory): n / (1 + (n - 1) rho).
double effective_runs(int64_t runs, double repeat_correlation);

// Whether there are runs, and every instrument with runs has counts for each identity that the priors hold possible: an
// unknown instrument gives no number.
bool are_known(const Priors& priors, std::span<const InstrumentRuns> instruments);

// Of all runs, for each identity: each instrument's log likelihood is taken effective_runs/runs
// times, and those of all are added. Nothing unless are_known().
using LogLikelihoods = std::array<LogLikelihood, kIdentities>;
std::optional<LogLikelihoods> log_likelihoods(const Priors& priors,
                                              std::span<const InstrumentRuns> instruments);

struct IdentityProbability {
  std::array<double, kIdentities> of{};
  // Of the declared identity, at the confidence asked for: how far the counts' being few carries.
  // By the delta method on its log odds, with the variances of confusion.h. The priors are taken as
  // given, and instruments as independent of each other: two of one technology are not.
  Interval interval;
};

// Nothing where log_likelihoods() gives nothing.
std::optional<IdentityProbability> identity_probability(model::Finding declared,
                                                        const Priors& priors,
                                                        std::span<const InstrumentRuns> instruments,
                                                        double confidence);

}  // namespace girdle::evidence
