#include "evidence/confusion.h"

#include <algorithm>
#include <boost/math/special_functions/trigamma.hpp>
#include <cmath>
#include <numeric>

namespace girdle::evidence {
namespace {

constexpr double kJeffreys = 0.5;

double weight(int64_t count) { return static_cast<double>(count) + kJeffreys; }

double weight_of_all(const ConfusionCounts& counts, model::Finding identity) {
  return static_cast<double>(counts.trials(identity)) + kAnswers * kJeffreys;
}

}  // namespace

int64_t ConfusionCounts::trials(model::Finding identity) const {
  const Answers& row = of[static_cast<size_t>(identity)];
  return std::accumulate(row.begin(), row.end(), int64_t{0});
}

double likelihood(const ConfusionCounts& counts, model::Finding identity, model::Finding answer) {
  return weight(counts.count(identity, answer)) / weight_of_all(counts, identity);
}

LogLikelihood log_likelihood(const ConfusionCounts& counts, model::Finding identity, const Answers& runs) {
  LogLikelihood sum;
  int64_t all_runs = 0;
  for (size_t answer = 0; answer < kAnswers; ++answer) {
    const auto n = static_cast<double>(runs[answer]);
    if (runs[answer] == 0) continue;
    all_runs += runs[answer];
    const double count = weight(counts.of[static_cast<size_t>(identity)][answer]);
    sum.value += n * std::log(count / weight_of_all(counts, identity));
    // Of log p: trigamma(count) for each answer, and -trigamma(all) for each pair of them.
    sum.variance += n * n * boost::math::trigamma(count);
  }
  const auto n = static_cast<double>(all_runs);
  sum.variance -= n * n * boost::math::trigamma(weight_of_all(counts, identity));
  sum.variance = std::max(sum.variance, 0.0);
  return sum;
}

}  // namespace girdle::evidence
