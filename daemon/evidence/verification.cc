#include "evidence/verification.h"

#include <cmath>
#include <cstdio>

namespace girdle::evidence {
namespace {

using model::Finding;

Rate rate(int64_t hits, int64_t trials, double confidence) {
  return {hits, trials, exact_interval(hits, trials, confidence),
          upper_limit(hits, trials, confidence)};
}

// In tenths of a per cent, which a double holds exactly.
std::string per_cent(double tenths) {
  char text[32];
  const auto whole = static_cast<long long>(tenths);
  std::snprintf(text, sizeof text, "%lld.%lld %%", whole / 10, whole % 10);
  return text;
}

std::string down(double p) { return per_cent(std::floor(p * 1000)); }
std::string near(double p) { return per_cent(std::round(p * 1000)); }
std::string up(double p) { return per_cent(std::ceil(p * 1000)); }

}  // namespace

Verification verification(const ConfusionCounts& counts, double confidence) {
  const int64_t natural = counts.trials(Finding::kNatural);
  const int64_t grown = counts.trials(Finding::kLaboratoryGrown);
  const int64_t passed = counts.count(Finding::kNatural, Finding::kNatural);
  const int64_t referred = counts.count(Finding::kNatural, Finding::kIndeterminate);
  const int64_t missed = counts.count(Finding::kLaboratoryGrown, Finding::kNatural);
  return {rate(missed, grown, confidence), rate(referred, natural, confidence),
          rate(passed, natural, confidence),
          rate(natural - passed - referred, natural, confidence)};
}

std::string in_words(const Rate& rate) {
  if (rate.trials == 0) return "not tested";
  const std::string of = " of " + std::to_string(rate.trials);
  if (rate.hits == 0) return "none" + of + " (at most " + up(rate.upper) + ")";
  const double p = static_cast<double>(rate.hits) / static_cast<double>(rate.trials);
  return std::to_string(rate.hits) + of + " (" + near(p) + "; " + down(rate.interval.low) + " to " +
         up(rate.interval.high) + ")";
}

}  // namespace girdle::evidence
