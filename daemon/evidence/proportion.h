// How sure a proportion is: intervals for `hits` of `trials`.
//
// Proportions and confidences are between 0 and 1; 0 <= hits <= trials. Without a trial nothing is known, and the
// interval is [0, 1]. Pure. The last digits of a double may differ between machines: what enters a policy or an outcome
// is rounded first.
#pragma once

#include <cstdint>

namespace girdle::evidence {

struct Interval {
  double low = 0, high = 1;
};

// The standard normal quantile: normal_quantile(0.975) is 1.96.
double normal_quantile(double probability);

// Two-sided. E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209; NIST/SEMATECH e-Handbook 7.2.4.1:
//   (p + z²/2n ± z sqrt(p(1 - p)/n + z²/4n²)) / (1 + z²/n)
// Close to the nominal coverage; a one-sided limit at confidence c is an end of the two-sided interval at 2c - 1.
Interval wilson_interval(int64_t hits, int64_t trials, double confidence);

// Two-sided, never less than the nominal coverage. C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404: quantiles
// of beta distributions.
Interval exact_interval(int64_t hits, int64_t trials, double confidence);

// One-sided and exact: with `confidence`, the proportion is no more than this. Of no hits in n it is
// 1 - (1 - confidence)^(1/n), near 3/n at 95 %; never 0.
double upper_limit(int64_t hits, int64_t trials, double confidence);

}  // namespace girdle::evidence
