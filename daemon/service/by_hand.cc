// What persons say of readings and cases, between what instruments say.
#include <algorithm>

#include "base/text.h"
#include "service/recorder.h"

namespace girdle::service {

using base::Result;
using ledger::CaseRow;
using ledger::CaseState;
using ledger::StoredReading;
using Kind = HandFate::Kind;

namespace {

constexpr size_t kMostWho = 100, kMostWhy = 500, kMostNumber = 200;  // bytes

HandFate fate_of(Kind kind, std::string text) {
  HandFate fate;
  fate.kind = kind;
  fate.text = std::move(text);
  return fate;
}

bool is_fit(const std::string& text, size_t most) {
  return !text.empty() && text.size() <= most && base::trimmed(text) == text && base::is_utf8(text) &&
         std::ranges::none_of(text, base::is_control);
}

// Empty: nothing is wrong.
std::string wrong_with(const api::By& by) {
  if (!is_fit(by.who, kMostWho)) {
    return "who decides must be said: one line of at most " + std::to_string(kMostWho) + " bytes, without blanks around it";
  }
  if (!is_fit(by.why, kMostWhy)) {
    return "why must be said: one line of at most " + std::to_string(kMostWhy) + " bytes, without blanks around it";
  }
  return {};
}

std::string wrong_with(const api::Bind& deed) {
  if (!is_fit(deed.stock_number, kMostNumber)) {
    return "a stock number is one line of at most " + std::to_string(kMostNumber) + " bytes, without blanks around it";
  }
  if (!deed.position.empty() && !is_fit(deed.position, kMostNumber)) {
    return "a position is one line of at most " + std::to_string(kMostNumber) + " bytes, without blanks around it";
  }
  return wrong_with(deed.by);
}

ledger::Hand hand_of(const api::By& by) { return {by.who, by.why, by.token}; }

std::string ended_text(const ledger::Ledger& ledger, const CaseRow& row) {
  if (row.state == CaseState::kMerged) {
    return "the case became part of the case " + ledger.case_id(row.merged_into) + "; decide that one";
  }
  return "the case has no readings any more: they belong elsewhere now";
}

}  // namespace

Result<HandFate> Recorder::bind(const api::Bind& deed) {
  if (std::string wrong = wrong_with(deed); !wrong.empty()) return fate_of(Kind::kRefused, std::move(wrong));
  auto stored = ledger_.reading(deed.reading);
  if (!stored) return stored.error();
  if (!*stored) return fate_of(Kind::kNotFound, "there is no reading " + std::to_string(deed.reading));
  const StoredReading& reading = **stored;
  const model::Reading& record = reading.reading;
  if (!record.stock_number.empty()) {
    return fate_of(Kind::kConflict, "the record itself says that it is of " +
                                        base::in_quotes(model::subject_key(record.stock_number, record.position)) +
                                        "; only a correction by the instrument changes that");
  }
  auto added = ledger_.add_binding({0, reading.id, deed.stock_number, deed.position, hand_of(deed.by), clock_.now()});
  if (!added) return added.error();
  has_bindings_ = true;
  if (auto done = look_again_at(reading); !done) return done.error();
  HandFate fate;
  fate.key = model::subject_key(deed.stock_number, deed.position.empty() ? record.position : deed.position);
  return fate;
}

// With all records of its run: a binding of one is one of the measurement.
Result<void> Recorder::look_again_at(const StoredReading& reading) {
  windows_.push_back({reading.instrument, reading.reading.measured_at, reading.reading.measured_at});
  if (reading.reading.run.empty()) return {};
  if (auto done = ledger_.find_same(reading.instrument, reading.reading, same_); !done) return done;
  for (const ledger::Same& same : same_) {
    auto other = ledger_.reading(same.id);
    if (!other) return other.error();
    if (!*other || !(*other)->live) continue;
    const base::Instant at = (*other)->reading.measured_at;
    windows_.push_back({reading.instrument, at, at});
  }
  return {};
}

Result<void> Recorder::find_case(const api::Bind& deed, HandFate& fate) {
  auto stored = ledger_.reading(deed.reading);
  if (!stored) return stored.error();
  if (!*stored || (*stored)->subject == 0) return {};
  const base::Instant at = (*stored)->reading.measured_at;
  fate.key = ledger_.subject_key((*stored)->subject);
  auto cases = ledger_.cases_of((*stored)->subject);
  if (!cases) return cases.error();
  for (const CaseRow& row : *cases) {
    if (row.state != CaseState::kOpen || at < row.first_at || at > row.last_at) continue;
    fate.case_number = row.number;
    fate.sequence = row.sequence;
  }
  return {};
}

Result<HandFate> Recorder::decide_by_hand(const api::DecideByHand& deed, std::vector<model::Delivery>& fresh, size_t limit) {
  if (std::string wrong = wrong_with(deed.by); !wrong.empty()) return fate_of(Kind::kRefused, std::move(wrong));
  if (auto done = settle(fresh, limit); !done) return done.error();
  const Number subject = ledger::subject_of(deed.case_number);
  auto cases = ledger_.cases_of(subject);
  if (!cases) return cases.error();
  const auto row = std::ranges::find(*cases, deed.case_number, &CaseRow::number);
  if (row == cases->end()) return fate_of(Kind::kNotFound, "there is no such case");
  if (row->state != CaseState::kOpen) return fate_of(Kind::kConflict, ended_text(ledger_, *row));
  if (row->sequence != deed.sequence) {
    return fate_of(Kind::kConflict, "the last outcome of the case is number " + std::to_string(row->sequence) + ", not " +
                                        std::to_string(deed.sequence) + ": look at it first");
  }
  return put_hand_outcome(*row, deed);
}

// The evidence is that of this moment, by the policy in force; only the answer is the person's.
Result<HandFate> Recorder::put_hand_outcome(CaseRow row, const api::DecideByHand& deed) {
  const Number subject = ledger::subject_of(row.number);
  auto claims = ledger_.declarations_of(subject);
  if (!claims) return claims.error();
  Measured measured;
  if (auto done = measure(subject, row.first_at, row.last_at, measured); !done) return done.error();
  const Part part{std::move(measured.list), row.first_at, row.last_at};
  auto evaluated = evaluate(row.number, part, *claims, 0);
  if (!evaluated) return evaluated.error();
  auto last = ledger_.outcome(row.number, row.sequence);
  if (!last) return last.error();
  ledger::OutcomeRow& outcome = evaluated->outcome;
  if (*last) outcome.previous = (*last)->decision.disposition;
  outcome.decision.disposition = deed.disposition;
  outcome.decision.reason = ledger::kDecidedByHand;
  outcome.decision.rule = 0;
  outcome.hand = hand_of(deed.by);
  outcome.sequence = ++row.sequence;
  HandFate fate;
  fate.key = ledger_.subject_key(subject);
  fate.case_number = row.number;
  fate.sequence = row.sequence;
  if (auto done = ledger_.put_case(row, false); !done) return done.error();
  if (auto done = put_outcome(std::move(outcome), part, evaluated->declared); !done) return done.error();
  return fate;
}

}  // namespace girdle::service
