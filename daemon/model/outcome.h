// A numbered answer for a case, and the event in which an outlet is told of it.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/clock.h"
#include "model/evidence.h"
#include "model/record.h"
#include "model/words.h"

namespace girdle::model {

// Which policy and which settings of instruments decided: enough to recompute.
struct PolicyStamp {
  std::string name;
  std::string version;
  std::string digest;  // "sha256:…"

  bool operator==(const PolicyStamp&) const = default;
};

// Why, in plain words. The first is the policy's own reason; then what was seen, what was asked, the rule, what would
// change the answer.
struct Reason {
  std::string code;  // "findings_differ"
  std::string text;

  bool operator==(const Reason&) const = default;
};

// What a stone may be called when it is sold, by the rules of a market (evidence/disclosure.h). Views of constants.
struct Disclosure {
  std::string_view market, title, source;
  std::span<const std::string_view> allowed, barred;
  std::string_view caution;
};

// A person decided, not the policy: what they say of themselves.
struct ByHand {
  std::string who, why;

  bool operator==(const ByHand&) const = default;
};

// What was decided. Equal decisions of one case are one outcome: telling the same thing twice helps nobody.
struct Decision {
  Disposition disposition = Disposition::kHold;
  std::string reason;  // the code, e.g. "findings_differ"
  int rule = 0;        // 1-based row of the disposition table; 0 = no rule, or it could not be evaluated
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
  std::vector<Reason> reasons;  // follow from the decision and the rules that made it (casework/explain.h)
  std::optional<ByHand> by_hand;
  std::optional<Disclosure> disclosure;
  std::optional<Disposition> previous;
  int64_t duplicates = 0;     // known when this was decided
  std::string merged_into;    // the case that lives on; empty unless this case ended by a merge
  std::optional<Declaration> declared;
  PolicyStamp policy;
  int64_t house = 0;  // the rules' number in the ledger: a handle
  base::Instant decided_at{};
  // The earlier outcomes of the case, by sequence, where this one takes them back (see takes_back()) and the outlet's
  // body has to repeat them.
  std::vector<Outcome> taken_back{};
};

// Whether what the case's earlier outcomes said was an error, and not just the state of that day: the case was no case
// of its own (it became part of another), or has lost all its measurements (to a correction, or to another subject).
// Every other outcome is news.
bool takes_back(const Outcome& outcome);

// "<case_id>-<sequence>": the id of the event and of the webhook, the same over retries and restarts.
std::string event_id(const Outcome& outcome);

// The data of the event (design 4.4; schemas/outcome.schema.json).
void write_json(std::string& out, const Outcome& outcome);

// An attribute of the CloudEvents 1.0.2 event that carries it.
struct EventAttribute {
  std::string_view name;
  std::string value;
};
inline constexpr std::string_view kEventType = "girdle.outcome.v1";
// All but `datacontenttype`, which is application/json.
std::array<EventAttribute, 7> event_attributes(const Outcome& outcome);

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
