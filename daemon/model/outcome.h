// A numbered answer for a case, and the event in which an outlet is told of it.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/clock.h"
#include "base/decimal.h"
#include "model/record.h"
#include "model/words.h"

namespace girdle::model {

// The facts of the policy, as computed from a case. Counts are of measurements: a duplicate, a corrected reading and
// the second route of one measurement are counted once.
struct Evidence {
  int valid = 0;       // distinct valid readings that count
  int voids = 0;
  int discounted = 0;  // outside ambient limits, or outside scope where others are inside
  int required = 0;
  // The common finding of the counted readings; kMixed where they differ, kNone where there are none.
  enum class Common : uint8_t {
    kNatural, kLaboratoryGrown, kTreated, kComposite, kSimulant, kIndeterminate, kMixed, kNone,
  };
  Common finding = Common::kNone;
  Scope scope = Scope::kUnknown;
  Fitness instrument = Fitness::kUnknown;
  std::optional<Finding> declared;  // claimed identity

  bool operator==(const Evidence&) const = default;
};

std::string_view text(Evidence::Common value);
// Of readings that all say so; not of a void one.
constexpr Evidence::Common common(Finding finding) { return static_cast<Evidence::Common>(finding); }
static_assert(static_cast<int>(Evidence::Common::kIndeterminate) == static_cast<int>(Finding::kIndeterminate));

// Which policy and which settings of instruments decided: enough to recompute.
struct PolicyStamp {
  std::string name;
  std::string version;
  std::string digest;  // "sha256:…"

  bool operator==(const PolicyStamp&) const = default;
};

// What was decided. Equal decisions of one case are one outcome: telling the same thing twice helps nobody.
struct Decision {
  Disposition disposition = Disposition::kHold;
  std::string reason;       // the code, e.g. "findings_differ"
  std::string reason_text;  // in plain words; follows from the code and the evidence
  int rule = 0;             // 1-based row of the disposition table; 0 = no rule, or it could not be evaluated
  Evidence evidence;

  bool operator==(const Decision&) const = default;
};

struct Outcome {
  std::string case_id;  // unique over all ledgers: "<ledger>-<number>"
  int64_t sequence = 0;  // 1-based within the case
  std::string site;
  SubjectKind kind = SubjectKind::kStone;
  std::string stock_number;
  std::string position;
  Decision decision;
  std::optional<Disposition> previous;
  int64_t duplicates = 0;     // known when this was decided
  std::string merged_into;    // the case that lives on; empty unless this case ended by a merge
  std::optional<Declaration> declared;
  PolicyStamp policy;
  base::Instant decided_at{};
};

// "<case_id>-<sequence>": the id of the event and of the webhook, the same over retries and restarts.
std::string event_id(const Outcome& outcome);

// The data of the event (design 4.4; schemas/outcome.schema.json).
void write_json(std::string& out, const Outcome& outcome);

// The CloudEvents 1.0.2 structured JSON event that carries it.
void write_event(std::string& out, const Outcome& outcome);

// One outcome on its way to one outlet.
struct Delivery {
  int64_t id = 0;
  int64_t outlet = 0;       // number of the outlet in the ledger
  int64_t case_number = 0;
  int64_t attempts = 0;     // made so far
  base::Instant due{};
  Outcome outcome;
};

}  // namespace girdle::model
