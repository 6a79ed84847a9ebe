// From the measurements of one case to its evidence (design: which count, which are discounted and why, the scope).
// Pure: no I/O, no clock, and the order of the measurements does not matter.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "casework/house.h"
#include "model/outcome.h"
#include "model/record.h"

namespace girdle::casework {

// One measurement, whatever the number of records that tell of it. Lends its reading and rules.
struct Measurement {
  int64_t id = 0;  // the reading's number in the ledger: a handle, as `second`; never part of a decision
  const model::Reading* reading = nullptr;
  const InstrumentRules* rules = nullptr;
  int64_t second = 0;  // the number of its second route's reading; 0 = none
};

enum class Weight : uint8_t {
  kCounted,
  kVoid,            // no valid measurement
  kOutsideAmbient,  // discounted: temperature or humidity given, and outside the instrument's limits
  kOutsideScope,    // discounted: outside the instrument's scope, while others of the case are inside
};

// In a few words, for people.
std::string_view text(Weight weight);

// Whether the instrument that made the measurement can judge the subject: kOut where a known carat, colour or table
// lies outside its scope; kIn where the carat or the colour is known and inside; kUnknown otherwise. The declaration's
// values come before the reading's; a default of the reading's mapping is not known. `declared` may be null.
model::Scope scope_of(const Measurement& measurement, const model::Declaration* declared);

// The kind that the declaration gives, else the one that the earliest reading gives (of two at once the one that comes
// first in the list of words), else a stone. A default is not given.
model::SubjectKind kind_of(const model::Declaration* declared, std::span<const Measurement> measurements);

// What follows from what was said and what is known of the stone: counts, the common finding, runs asked for, how
// probable the declared identity is. Leaves the rest as it is.
void complete(model::Evidence& evidence, const House& house);

// `weights`, when given, gets one weight a measurement, in their order.
model::Evidence weigh(std::span<const Measurement> measurements, const model::Declaration* declared,
                      const House& house, std::vector<Weight>* weights = nullptr);

}  // namespace girdle::casework
