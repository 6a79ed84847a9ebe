// Prints what the evidence functions give over grids, one "name arguments… = results…" a line: for
// grid_test.py, which knows the same from elsewhere.
#include <cstdio>

#include "evidence/identity_probability.h"
#include "evidence/proportion.h"
#include "evidence/sequential.h"

namespace girdle::evidence {
namespace {

void print_proportions() {
  for (const int64_t n : {1, 2, 3, 5, 10, 30, 200, 1000, 100000}) {
    for (const double share : {0.0, 0.01, 0.1, 0.5, 0.9, 1.0}) {
      const auto hits = static_cast<int64_t>(share * static_cast<double>(n));
      for (const double confidence : {0.5, 0.8, 0.9, 0.95, 0.99, 0.999}) {
        const Interval wilson = wilson_interval(hits, n, confidence);
        const Interval exact = exact_interval(hits, n, confidence);
        std::printf("proportion %lld %lld %.17g = %.17g %.17g %.17g %.17g %.17g\n",
                    static_cast<long long>(hits), static_cast<long long>(n), confidence, wilson.low,
                    wilson.high, exact.low, exact.high, upper_limit(hits, n, confidence));
      }
    }
  }
}

void print_posteriors() {
  const ConfusionCounts few = {
      {{{48, 0, 0, 0, 0, 2}, {1, 17, 0, 0, 0, 2}, {3, 1, 4, 0, 0, 2}, {}, {0, 0, 0, 0, 30, 0}}}};
  const ConfusionCounts many = {
      {{{9620, 30, 0, 0, 0, 350}, {4, 1876, 0, 0, 0, 120}, {20, 5, 60, 0, 0, 15}, {}, {1, 0, 0, 0, 299, 0}}}};
  const Priors priors = {0.9, 0.06, 0.02, 0, 0.02};
  for (int natural = 0; natural <= 4; ++natural) {
    for (int unsure = 0; unsure <= 2; ++unsure) {
      for (const double rho : {0.0, 0.3, 1.0}) {
        const InstrumentRuns runs[] = {{&few, {natural, 0, 0, 0, 0, unsure}, rho},
                                       {&many, {1, 0, 0, 0, 0, 0}, rho}};
        const auto p = identity_probability(model::Finding::kNatural, priors, runs, 0.9);
        if (!p) continue;
        std::printf("posterior %d %d %.17g = %.17g %.17g %.17g %.17g %.17g %.17g %.17g\n", natural,
                    unsure, rho, p->of[0], p->of[1], p->of[2], p->of[3], p->of[4], p->interval.low,
                    p->interval.high);
      }
    }
  }
}

}  // namespace
}  // namespace girdle::evidence

int main() {
  girdle::evidence::print_proportions();
  girdle::evidence::print_posteriors();
}
