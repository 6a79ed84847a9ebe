// What another policy would have said of the cases of a ledger. Reads only.
//
// First every outcome is computed again by the rules that decided it, and has to come out as it is
// stored: a history that cannot be replayed proves nothing of a new policy. Of one that a person
// decided the evidence has to, and is counted apart. Then each open case is
// decided by the new one, from the readings and the declaration that its last outcome rests on.
// Cases stay cut as they are, and readings bound as they are, though the new policy's reopen_after
// or scan_fresh may differ.
#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "base/clock.h"
#include "base/result.h"
#include "casework/house.h"
#include "ledger/ledger.h"
#include "service/house_shelf.h"

namespace girdle::service {

struct Verdict {
  model::Disposition disposition = model::Disposition::kHold;
  std::string reason;
  int rule = 0;      // 0: none decided
  int required = 0;  // runs asked for; 0: not kept
  std::string note;  // of that rule
};

struct ChangedCase {
  std::string key;  // the subject's
  std::string case_id;
  int64_t sequence = 0;  // of the outcome
  model::PolicyStamp old_policy;
  model::Evidence evidence;  // as the new policy has it; of a shadow as the old one had it
  Verdict old_verdict, new_verdict;
};

struct Mismatch {
  std::string key, case_id;
  int64_t sequence = 0;
  std::string text;  // in what they differ
};

struct BacktestReport {
  int64_t outcomes = 0;  // looked at
  int64_t replayed = 0;  // come out as stored
  int64_t by_hand = 0;  // a person decided: their evidence comes out as stored, their answer is theirs
  int64_t unknown =
      0;  // cannot be computed again: written before the ledger kept what they rest on
  int64_t mismatched = 0;
  std::vector<Mismatch> mismatches;  // the first kMostMismatches of them
  int64_t cases = 0;
  int64_t cases_by_hand = 0;  // not among those: a person had the last word, and a policy takes none from them
  int64_t changed = 0;  // of which the matrix has those with another disposition off its diagonal
  // Cases by old and new disposition.
  std::array<std::array<int64_t, 5>, 5> matrix{};

  int64_t moved() const;  // to another disposition
};
inline constexpr size_t kMostMismatches = 20;

struct BacktestSpan {
  base::Instant since = base::Instant::min(),
                until = base::Instant::max();  // of a case's last outcome
};

// `on_changed` gets each case whose disposition, reason or required runs differ, by subject.
base::Result<BacktestReport> backtest(ledger::Ledger& ledger, HouseShelf& shelf,
                                      const casework::House& candidate, const BacktestSpan& span,
                                      const std::function<void(const ChangedCase&)>& on_changed);

// The same of the answers that a policy in the shadow gave while it was there; nothing is computed
// again.
base::Result<BacktestReport> compare_shadow(
    ledger::Ledger& ledger, HouseShelf& shelf, ledger::Number shadow, const BacktestSpan& span,
    const std::function<void(const ChangedCase&)>& on_changed);

}  // namespace girdle::service
