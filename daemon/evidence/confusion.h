// What an instrument says of stones whose identity is known: counts, and the likelihoods that follow from them.
//
// Pure.
#pragma once

#include <array>
#include <cstdint>

#include "model/words.h"

namespace girdle::evidence {

// The first five findings are what a stone can be; these and `indeterminate` are what an instrument can say of it. A
// void run says nothing and is not counted.
inline constexpr size_t kIdentities = 5;
inline constexpr size_t kAnswers = 6;

// Runs by answer, in the order of model::Finding.
using Answers = std::array<int64_t, kAnswers>;

struct ConfusionCounts {
  std::array<Answers, kIdentities> of{};  // of[identity][answer]: runs on stones of that identity

  int64_t trials(model::Finding identity) const;
  int64_t count(model::Finding identity, model::Finding answer) const {
    return of[static_cast<size_t>(identity)][static_cast<size_t>(answer)];
  }
};

// How likely each answer is for each identity, with Jeffreys' prior on the counts (H. Jeffreys, Proc. R. Soc. A 186
// (1946) 453; for a multinomial, Dirichlet with 1/2 for each answer):
//   P(answer | identity) = (count + 1/2) / (trials + 6/2)
// So an answer that never came is unlikely, and not impossible. Without trials this is no knowledge but the bare prior:
// whoever asks looks at trials() first.
double likelihood(const ConfusionCounts& counts, model::Finding identity, model::Finding answer);

// Of `runs` (answers of this instrument on one stone): the logarithm of their likelihood, each run by itself, and the
// variance of that logarithm that is due to the counts being few (moments of the logarithm of a Dirichlet variable).
struct LogLikelihood {
  double value = 0;
  double variance = 0;
};
LogLikelihood log_likelihood(const ConfusionCounts& counts, model::Finding identity, const Answers& runs);

}  // namespace girdle::evidence
