// The facts of the policy, as computed from a case.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/decimal.h"
#include "base/json.h"
#include "model/words.h"

namespace girdle::model {

// Counted runs of one instrument that say one thing.
struct Said {
  Finding finding = Finding::kVoid;
  std::string instrument;
  int runs = 0;

  bool operator==(const Said&) const = default;
};

// What is known of a stone besides its readings: as declared; carat, color and shape else as the
// readings that count give them, where they agree.
struct Stone {
  SubjectKind kind = SubjectKind::kStone;
  std::optional<base::Decimal> carat, stones, value;  // value in the house's money
  std::string color, shape, mount, channel;           // empty: not known

  bool operator==(const Stone&) const = default;
};

// How probable it is that a stone is what is declared (evidence/identity_probability.h), with six
// decimals: never 0 and never 1.
struct Probability {
  Finding of = Finding::kNatural;  // the declared identity; of an undeclared stone `natural`
  base::Decimal value, low, high;

  bool operator==(const Probability&) const = default;
};

// Where the runs stand towards the policy's error limits (evidence/sequential.h).
enum class ErrorLimits : uint8_t {
  kMet,      // enough to take the stone as declared
  kAgainst,  // enough to take it as something else
  kOpen,
  kUnknown,  // the instrument's counts, or the priors, are not given
};

// Of a stone whose measurements are known (evidence/carat.h); rounded to four decimals, so that
// they are short.
struct CaratEstimate {
  base::Decimal carat, low, high;
  std::optional<bool> plausible;  // whether the declared carat fits; nothing where none is declared

  bool operator==(const CaratEstimate&) const = default;
};

// The facts of the policy, as computed from a case. Counts are of measurements: a duplicate, a
// corrected reading and the second route of one measurement are counted once.
struct Evidence {
  int valid = 0;  // distinct valid readings that count
  int voids = 0;
  int discounted = 0;  // outside ambient limits, or outside scope where others are inside
  int required = 0;
  int instruments = 0;  // that made the readings that count
  int dissent = 0;      // readings that count and do not say what most of them say
  // The common finding of the counted readings; kMixed where they differ, kNone where there are
  // none.
  enum class Common : uint8_t {
    kNatural,
    kLaboratoryGrown,
    kTreated,
    kComposite,
    kSimulant,
    kIndeterminate,
    kMixed,
    kNone,
  };
  Common finding = Common::kNone;
  Scope scope = Scope::kUnknown;
  Fitness instrument = Fitness::kUnknown;
  std::optional<Finding> declared;  // claimed identity

  // Of the readings that count; who spoke last stands last, at the same moment by serial number and
  // finding.
  std::vector<Said> said;
  Stone stone;
  std::optional<Probability> probability;
  ErrorLimits error_limits = ErrorLimits::kUnknown;
  std::optional<int> more_runs;  // that agree, until the error limits are met; nothing: unknown, or
                                 // no number is enough
  std::optional<CaratEstimate> carat_estimate;

  // Runs that are still needed.
  int missing() const { return required > valid ? required - valid : 0; }

  // Whether `said` has all readings that count: not in outcomes that were written before version 2
  // of the ledger.
  bool is_told() const;

  bool operator==(const Evidence&) const = default;
};

std::string_view text(Evidence::Common value);
// Of readings that all say so; not of a void one.
constexpr Evidence::Common common(Finding finding) {
  return static_cast<Evidence::Common>(finding);
}
static_assert(static_cast<int>(Evidence::Common::kIndeterminate) ==
              static_cast<int>(Finding::kIndeterminate));

std::string_view text(ErrorLimits value);

// Members of a JSON object: what of the evidence is more than counts and single words.
void write_detail(base::JsonWriter& json, const Evidence& evidence);
// The same as an object in a shorter form, for the ledger; empty where there is nothing. Equal
// evidence gives the same bytes.
std::string evidence_detail(const Evidence& evidence);
// False, with `evidence` as it was, where the text is none of evidence_detail().
bool read_detail(std::string_view text, Evidence& evidence);

}  // namespace girdle::model
