#include "evidence/proportion.h"

#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/special_functions/beta.hpp>
#include <cmath>

namespace girdle::evidence {
namespace {

// The proportion below which a share `probability` of its distribution lies, after `hits` more and `misses` more.
double beta_quantile(int64_t hits, int64_t misses, double probability) {
  return boost::math::ibeta_inv(static_cast<double>(hits), static_cast<double>(misses), probability);
}

}  // namespace

double normal_quantile(double probability) {
  return boost::math::quantile(boost::math::normal_distribution<>(), probability);
}

Interval wilson_interval(int64_t hits, int64_t trials, double confidence) {
  if (trials <= 0) return {};
  const auto n = static_cast<double>(trials);
  const double p = static_cast<double>(hits) / n;
  const double z = normal_quantile((1 + confidence) / 2);
  const double z2 = z * z;
  const double middle = p + z2 / (2 * n);
  const double reach = z * std::sqrt(p * (1 - p) / n + z2 / (4 * n * n));
  const double scale = 1 + z2 / n;
  // At the ends rounding alone would leave something.
  return {hits == 0 ? 0 : std::max(0.0, (middle - reach) / scale),
          hits == trials ? 1 : std::min(1.0, (middle + reach) / scale)};
}

Interval exact_interval(int64_t hits, int64_t trials, double confidence) {
  if (trials <= 0) return {};
  const double outside = (1 - confidence) / 2;
  Interval interval;
  if (hits > 0) interval.low = beta_quantile(hits, trials - hits + 1, outside);
  if (hits < trials) interval.high = beta_quantile(hits + 1, trials - hits, 1 - outside);
  return interval;
}

double upper_limit(int64_t hits, int64_t trials, double confidence) {
  if (trials <= 0 || hits >= trials) return 1;
  return beta_quantile(hits + 1, trials - hits, confidence);
}

}  // namespace girdle::evidence
