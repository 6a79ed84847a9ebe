// All that is known of each subject: one walk over five tables side by side, each in the order of subjects.
#include <algorithm>
#include <limits>

#include "ledger/rows.h"
#include "ledger/state.h"

namespace girdle::ledger {
namespace {

using base::Result;

constexpr Number kNobody = std::numeric_limits<Number>::max();

// Rows of one table, ascending by their first column: the subject. Values begin in the second.
class Walk {
 public:
  Result<void> start(const Database& database, const char* sql) {
    if (auto done = rows_.prepare(database, sql); !done) return done;
    rows_.start();
    return next();
  }

  // Of the row ahead; kNobody after the last.
  Number subject() const { return subject_; }

  // Calls `take` for each row of that subject. Those of subjects before it are passed by.
  template <class Take>
  Result<void> each_of(Number subject, Take take) {
    while (subject_ < subject) {
      if (auto done = next(); !done) return done;
    }
    while (subject_ == subject) {
      if (auto done = take(rows_); !done) return done;
      if (auto done = next(); !done) return done;
    }
    return {};
  }

 private:
  Result<void> next() {
    auto row = rows_.step();
    if (!row) return row.error();
    subject_ = *row ? rows_.number(0) : kNobody;
    return {};
  }

  Statement rows_;
  Number subject_ = kNobody;
};

// The indexes give these orders; nothing is sorted.
constexpr const char* kSubjects = "SELECT id, key FROM subject ORDER BY id";
constexpr const char* kReadings = "SELECT r.subject, " GIRDLE_READING_COLUMNS
                                  " FROM reading r WHERE r.subject > 0 ORDER BY r.subject, r.measured_at, r.id";
constexpr const char* kDeclarations = "SELECT d.subject, " GIRDLE_DECLARATION_COLUMNS "ORDER BY d.subject, d.content";
constexpr const char* kCases = "SELECT number >> 16, cases.* FROM cases ORDER BY number";
constexpr const char* kOutcomes = "SELECT case_number >> 16, outcome.* FROM outcome ORDER BY case_number, sequence";

class HistoryWalk {
 public:
  explicit HistoryWalk(Ledger& ledger) : ledger_(ledger) {}

  Result<void> start(const Database& database) {
    const std::pair<Walk&, const char*> walks[] = {{subjects_, kSubjects},
                                                   {readings_, kReadings},
                                                   {declarations_, kDeclarations},
                                                   {cases_, kCases},
                                                   {outcomes_, kOutcomes}};
    for (const auto& [walk, sql] : walks) {
      if (auto done = walk.start(database, sql); !done) return done;
    }
    return {};
  }

  bool at_end() const { return next_subject() == kNobody; }

  // Puts the next subject into history(), only when not at_end().
  Result<void> next() {
    clear(next_subject());
    if (auto done = take_key(); !done) return done;
    if (auto done = take_readings(); !done) return done;
    if (auto done = take_declarations(); !done) return done;
    if (auto done = take_cases(); !done) return done;
    return take_outcomes();
  }

  const SubjectHistory& history() const { return history_; }

 private:
  Number next_subject() const { return std::min(readings_.subject(), cases_.subject()); }

  // The lists keep their memory from subject to subject.
  void clear(Number subject) {
    history_.subject = subject;
    history_.key.clear();
    history_.readings.clear();
    history_.declarations.clear();
    history_.cases.clear();
    history_.outcomes.clear();
  }

  Result<void> take_key() {
    return subjects_.each_of(history_.subject, [&](const Statement& row) {
      history_.key = row.text(1);
      return Result<void>();
    });
  }

  Result<void> take_readings() {
    return readings_.each_of(history_.subject, [&](const Statement& row) {
      StoredReading& reading = history_.readings.emplace_back();
      row_reading(row, 1, reading);
      reading.reading.instrument = ledger_.instrument_serial(reading.instrument);
      return Result<void>();
    });
  }

  Result<void> take_declarations() {
    auto& declarations = history_.declarations;
    auto done = declarations_.each_of(history_.subject, [&](const Statement& row) {
      row_declaration(row, 1, declarations.emplace_back());
      return Result<void>();
    });
    std::ranges::sort(declarations, {}, &StoredDeclaration::id);
    return done;
  }

  Result<void> take_cases() {
    return cases_.each_of(history_.subject, [&](const Statement& row) {
      history_.cases.push_back(row_case(row, 1));
      return Result<void>();
    });
  }

  Result<void> take_outcomes() {
    return outcomes_.each_of(history_.subject, [&](const Statement& row) {
      OutcomeRow& outcome = history_.outcomes.emplace_back();
      auto done = row_outcome(row, 1, outcome);
      return done ? ledger_.read_hand(outcome) : done;
    });
  }

  Ledger& ledger_;
  Walk subjects_, readings_, declarations_, cases_, outcomes_;
  SubjectHistory history_;
};

}  // namespace

Result<void> Ledger::each_history(const std::function<Result<void>(const SubjectHistory&)>& each) {
  OneMoment moment(state_->database);
  if (auto done = moment.begin(); !done) return done;
  HistoryWalk walk(*this);
  if (auto done = walk.start(state_->database); !done) return done;
  while (!walk.at_end()) {
    if (auto done = walk.next(); !done) return done;
    if (auto done = each(walk.history()); !done) return done;
  }
  return {};
}

}  // namespace girdle::ledger
