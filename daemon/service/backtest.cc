#include "service/backtest.h"

#include <algorithm>

#include "service/replay.h"

namespace girdle::service {

using base::Result;
using ledger::Ledger;
using ledger::OutcomeRow;
using ledger::SubjectHistory;

namespace {

using House = casework::House;

std::string note_of(const House& house, int rule) {
  return std::string(house.table.table.note(rule));
}

Verdict verdict_of(const model::Decision& decision, const House& house) {
  return {decision.disposition, decision.reason, decision.rule, decision.evidence.required,
          note_of(house, decision.rule)};
}

// What the ledger kept of evidence before version 2.
model::Evidence counts_of(const model::Evidence& e) {
  model::Evidence counts;
  counts.valid = e.valid;
  counts.voids = e.voids;
  counts.discounted = e.discounted;
  counts.required = e.required;
  counts.finding = e.finding;
  counts.scope = e.scope;
  counts.instrument = e.instrument;
  counts.declared = e.declared;
  return counts;
}

// What differs first, in words.
std::string difference(const model::Decision& stored, const model::Decision& again) {
  const auto words = [](const model::Decision& d) {
    return std::string(text(d.disposition)) + " (" + d.reason + ", rule " + std::to_string(d.rule) +
           ")";
  };
  if (words(stored) != words(again))
    return "stored is " + words(stored) + ", computed again it is " + words(again);
  const auto counts = [](const model::Evidence& e) {
    return std::to_string(e.valid) + " valid of " + std::to_string(e.required) + ", " +
           std::to_string(e.voids) + " void, " + std::to_string(e.discounted) +
           " discounted, scope " + std::string(text(e.scope));
  };
  if (counts(stored.evidence) != counts(again.evidence)) {
    return "stored is " + counts(stored.evidence) + "; computed again " + counts(again.evidence);
  }
  return "stored is " + model::evidence_detail(stored.evidence) + "; computed again " +
         model::evidence_detail(again.evidence);
}

class Backtest {
 public:
  Backtest(Ledger& ledger, HouseShelf& shelf, const House& candidate, const BacktestSpan& span,
           const std::function<void(const ChangedCase&)>& on_changed)
      : ledger_(ledger),
        shelf_(shelf),
        candidate_(candidate),
        span_(span),
        on_changed_(on_changed) {}

  Result<BacktestReport> run() {
    auto done =
        ledger_.each_history([this](const SubjectHistory& history) { return subject(history); });
    if (!done) return done.error();
    return std::move(report_);
  }

 private:
  Result<void> subject(const SubjectHistory& history) {
    size_t next = 0;
    for (const ledger::CaseRow& row : history.cases) {
      const size_t first = next;
      while (next < history.outcomes.size() && history.outcomes[next].case_number == row.number)
        ++next;
      if (next == first) continue;
      const OutcomeRow& last = history.outcomes[next - 1];
      if (last.decided_at < span_.since || last.decided_at > span_.until) continue;
      for (size_t i = first; i < next; ++i) {
        if (auto done = outcome(history, row, history.outcomes[i], i + 1 == next); !done)
          return done;
      }
    }
    return {};
  }

  Result<void> outcome(const SubjectHistory& history, const ledger::CaseRow& row,
                       const OutcomeRow& stored, bool is_last) {
    auto kept = basis_of(ledger_, history, stored);
    if (!kept) return kept.error();
    const Basis basis = *kept ? std::move(**kept) : basis_today(history, row, stored);
    auto house = shelf_.at(stored.house);
    if (!house) return house.error();
    replay(history, stored, basis, **house, kept->has_value());
    if (is_last && row.state == ledger::CaseState::kOpen) compare(history, stored, basis, **house);
    return {};
  }

  void replay(const SubjectHistory& history, const OutcomeRow& stored, const Basis& basis,
              const House& house, bool is_kept) {
    ++report_.outcomes;
    model::Decision again = decide_again(basis, house);
    const model::SubjectKind kind = again.evidence.stone.kind;
    if (!is_kept) again.evidence = counts_of(again.evidence);
    if (stored.hand && again.evidence == stored.decision.evidence && kind == stored.kind) {
      ++report_.by_hand;
      return;
    }
    if (stored.hand) {  // what differs is the evidence
      again.disposition = stored.decision.disposition;
      again.reason = stored.decision.reason;
      again.rule = stored.decision.rule;
    }
    if (again == stored.decision && kind == stored.kind) {
      ++report_.replayed;
    } else if (!is_kept) {
      ++report_.unknown;
    } else {
      ++report_.mismatched;
      if (report_.mismatches.size() >= kMostMismatches) return;
      report_.mismatches.push_back({history.key, ledger_.case_id(stored.case_number),
                                    stored.sequence, difference(stored.decision, again)});
    }
  }

  void compare(const SubjectHistory& history, const OutcomeRow& stored, const Basis& basis,
               const House& house) {
    if (stored.hand) {
      ++report_.cases_by_hand;
      return;
    }
    const model::Decision fresh = decide_again(basis, candidate_);
    const model::Decision& old = stored.decision;
    ++report_.cases;
    ++report_.matrix[static_cast<size_t>(old.disposition)][static_cast<size_t>(fresh.disposition)];
    const bool is_same = fresh.disposition == old.disposition && fresh.reason == old.reason &&
                         fresh.evidence.required == old.evidence.required;
    if (is_same) return;
    ++report_.changed;
    on_changed_({history.key, ledger_.case_id(stored.case_number), stored.sequence, house.stamp,
                 fresh.evidence, verdict_of(old, house), verdict_of(fresh, candidate_)});
  }

  Ledger& ledger_;
  HouseShelf& shelf_;
  const House& candidate_;
  const BacktestSpan& span_;
  const std::function<void(const ChangedCase&)>& on_changed_;
  BacktestReport report_;
};

}  // namespace

int64_t BacktestReport::moved() const {
  int64_t count = cases;
  for (size_t i = 0; i < matrix.size(); ++i) count -= matrix[i][i];
  return count;
}

Result<BacktestReport> backtest(Ledger& ledger, HouseShelf& shelf, const House& candidate,
                                const BacktestSpan& span,
                                const std::function<void(const ChangedCase&)>& on_changed) {
  return Backtest(ledger, shelf, candidate, span, on_changed).run();
}

Result<BacktestReport> compare_shadow(Ledger& ledger, HouseShelf& shelf, ledger::Number shadow,
                                      const BacktestSpan& span,
                                      const std::function<void(const ChangedCase&)>& on_changed) {
  BacktestReport report;
  auto said_by = shelf.at(shadow);
  if (!said_by) return said_by.error();
  auto done = ledger.each_last_shadow(shadow, [&](const ledger::ShadowRow& row,
                                                  const OutcomeRow& stored) {
    if (stored.decided_at < span.since || stored.decided_at > span.until) return;
    if (stored.hand) {
      ++report.cases_by_hand;
      return;
    }
    const model::Decision& old = stored.decision;
    ++report.cases;
    ++report.matrix[static_cast<size_t>(old.disposition)][static_cast<size_t>(row.disposition)];
    if (row.disposition == old.disposition && row.reason == old.reason) return;
    ++report.changed;
    ChangedCase changed;
    changed.key = ledger.subject_key(ledger::subject_of(stored.case_number));
    changed.case_id = ledger.case_id(stored.case_number);
    changed.sequence = stored.sequence;
    changed.evidence = old.evidence;
    changed.new_verdict = {row.disposition, row.reason, row.rule, 0, note_of(**said_by, row.rule)};
    if (const auto house = shelf.at(stored.house)) {
      changed.old_policy = (*house)->stamp;
      changed.old_verdict = verdict_of(old, **house);
    }
    on_changed(changed);
  });
  if (!done) return done.error();
  return report;
}

}  // namespace girdle::service
