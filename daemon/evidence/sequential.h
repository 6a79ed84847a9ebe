// How many more agreeing runs until a policy's error limits are met: Wald's sequential test.
//
// Pure.
#pragma once

#include <cstdint>
#include <optional>

#include "evidence/identity_probability.h"

namespace girdle::evidence {

struct ErrorLimits {
  double miss = 0.01;         // taken as declared, and is something else; 0 to 1/2
  double false_alarm = 0.05;  // sent on, and is as declared; 0 to 1/2
};

// The bounds of the logarithm of the likelihood ratio (A. Wald, Ann. Math. Stat. 16 (1945) 117):
// taken as declared from ln((1 - false_alarm) / miss) on, and as something else down from
// ln(false_alarm / (1 - miss)).
struct WaldBounds {
  double declared = 0, other = 0;
};
WaldBounds wald_bounds(const ErrorLimits& limits);

enum class SequentialState : uint8_t {
  kDeclared,   // the runs so far are enough to take it as declared
  kOther,      // to take it as something else
  kUndecided,  // more runs may tell
};

struct SequentialTest {
  SequentialState state = SequentialState::kUndecided;
  double log_ratio = 0;  // of the declared identity against the one that is hardest to tell from it
  // Of the last instrument, answering as declared, until kDeclared; nothing where no number of them
  // is enough, as runs that repeat each other add less and less, or where it is past most_more_runs.
  std::optional<int> more_runs;
};
inline constexpr int kMostMoreRuns = 100;

// The alternative is each identity that the priors hold possible, and the one with the smallest
// ratio counts. Nothing as for identity_probability. `instruments` has at least one.
std::optional<SequentialTest> sequential_test(model::Finding declared, const Priors& priors,
                                              std::span<const InstrumentRuns> instruments,
                                              const ErrorLimits& limits);

}  // namespace girdle::evidence
