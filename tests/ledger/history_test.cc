// The walk over all subjects, against asking for each of them alone.
#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "ledger/ledger.h"
#include "service/temp_ledger.h"

namespace girdle::ledger {
namespace {

using base::from_millis;
using base::Instant;
using base::Result;

class History : public testing::Test {
 protected:
  History() : ledger_(temp_.open()) {
    EXPECT_TRUE(ledger_->begin().ok());
    intake_ = *ledger_->intake("exports");
    instruments_ = {*ledger_->instrument("A-0117"), *ledger_->instrument("B-22")};
    model::Document document;
    document.digest.fill(7);
    document_ = *ledger_->add_document(intake_, document, Instant{});
  }

  Number add_subject(const std::string& key) {
    bool fresh = false;
    return *ledger_->subject(key, &fresh);
  }

  Number add_reading(Number subject, int64_t millis) {
    StoredReading stored;
    stored.subject = subject;
    stored.instrument = instruments_[static_cast<size_t>(millis) % 2];
    stored.intake = intake_;
    stored.document = document_;
    stored.content = ++content_;
    stored.live = millis % 5 != 0;
    model::Reading& r = stored.reading;
    r.measured_at = from_millis(millis);
    if (millis % 3 != 0) r.run = std::to_string(content_);
    r.finding = static_cast<model::Finding>(millis % model::kFindings);
    if (millis % 4 == 0) r.carat = base::Decimal::parse("0.53");
    if (millis % 7 == 0) r.extra = {{"lamp", std::to_string(millis)}};
    if (millis % 11 == 0) r.note = "a note that is longer than a short text is";
    return *ledger_->add_reading(stored, false);
  }

  void add_declaration(Number subject, int64_t content) {
    StoredDeclaration stored;
    stored.content = content;
    stored.came_at = from_millis(content + 10);
    stored.declaration.carat = base::Decimal(content);
    EXPECT_TRUE(ledger_->add_declaration(subject, document_, stored).ok());
  }

  void add_case(Number number, int64_t outcomes) {
    CaseRow row;
    row.number = number;
    row.sequence = outcomes;
    row.last_at = from_millis(number);
    EXPECT_TRUE(ledger_->put_case(row, true).ok());
    for (int64_t sequence = 1; sequence <= outcomes; ++sequence) {
      OutcomeRow outcome;
      outcome.case_number = number;
      outcome.sequence = sequence;
      outcome.decision.reason = std::to_string(number);
      outcome.decision.evidence.instruments = static_cast<int>(sequence);
      if (sequence % 2 == 0) outcome.measured = {{number, 0}, {number + 1, number}};
      EXPECT_TRUE(ledger_->add_outcome(outcome).ok());
    }
  }

  // Subjects with any mixture of what there is, their rows in no order.
  void fill_at_random() {
    std::mt19937_64 random(41);
    for (int i = 1; i <= 300; ++i) add_subject("R" + std::to_string(i) + (i % 9 == 0 ? "#2" : ""));
    for (int i = 0; i < 900; ++i) add_reading(static_cast<Number>(random() % 250), static_cast<int64_t>(1 + random() % 50));
    for (int i = 0; i < 300; ++i) add_declaration(static_cast<Number>(1 + random() % 290), 1000 - i);
    for (Number subject = 1; subject <= 300; ++subject) {
      for (Number n = 0; n < static_cast<Number>(random() % 3); ++n) {
        add_case(first_case_of(subject) + n, static_cast<int64_t>(random() % 4));
      }
    }
  }

  std::vector<SubjectHistory> walk(Ledger& ledger) {
    std::vector<SubjectHistory> all;
    const auto done = ledger.each_history([&](const SubjectHistory& history) {
      all.push_back(history);
      return Result<void>();
    });
    EXPECT_TRUE(done.ok()) << done.error().text;
    return all;
  }

  std::vector<Number> subjects(Ledger& ledger) {
    std::vector<Number> numbers;
    for (const SubjectHistory& history : walk(ledger)) numbers.push_back(history.subject);
    return numbers;
  }

  TempLedger temp_;
  std::unique_ptr<Ledger> ledger_;
  Number intake_ = 0, document_ = 0;
  std::vector<Number> instruments_;
  int64_t content_ = 0;
};

void expect_equal(const StoredReading& a, const StoredReading& b) {
  EXPECT_EQ(a.reading, b.reading);
  EXPECT_EQ(std::tie(a.id, a.subject, a.instrument, a.intake, a.document, a.pair, a.live, a.came_at, a.came_offset, a.content),
            std::tie(b.id, b.subject, b.instrument, b.intake, b.document, b.pair, b.live, b.came_at, b.came_offset, b.content));
}

void expect_equal(const StoredDeclaration& a, const StoredDeclaration& b) {
  EXPECT_EQ(a.declaration, b.declaration);
  EXPECT_EQ(std::tie(a.id, a.document, a.came_at, a.list, a.content),
            std::tie(b.id, b.document, b.came_at, b.list, b.content));
}

void expect_equal(const CaseRow& a, const CaseRow& b) {
  EXPECT_EQ(std::tie(a.number, a.first_at, a.last_at, a.state, a.merged_into, a.sequence),
            std::tie(b.number, b.first_at, b.last_at, b.state, b.merged_into, b.sequence));
}

void expect_equal(const OutcomeRow& a, const OutcomeRow& b) {
  EXPECT_EQ(a.decision, b.decision);
  EXPECT_EQ(std::tie(a.case_number, a.sequence, a.measured, a.decided_at),
            std::tie(b.case_number, b.sequence, b.measured, b.decided_at));
}

template <class Row>
void expect_equal(const std::vector<Row>& a, const std::vector<Row>& b) {
  ASSERT_EQ(a.size(), b.size());
  for (size_t i = 0; i < a.size(); ++i) expect_equal(a[i], b[i]);
}

// As it is known by the functions that ask for one subject.
SubjectHistory asked_alone(Ledger& ledger, Number subject) {
  SubjectHistory alone;
  alone.subject = subject;
  alone.key = ledger.subject_key(subject);
  alone.readings = *ledger.readings_of(subject, Instant::min(), Instant::max());
  std::ranges::sort(alone.readings, {}, [](const StoredReading& r) { return std::pair(r.reading.measured_at, r.id); });
  alone.declarations = *ledger.declarations_of(subject);
  std::ranges::sort(alone.declarations, {}, &StoredDeclaration::id);
  alone.cases = *ledger.cases_of(subject);
  for (const CaseRow& row : alone.cases) {
    for (int64_t sequence = 1; sequence <= row.sequence; ++sequence) {
      alone.outcomes.push_back(**ledger.outcome(row.number, sequence));
    }
  }
  return alone;
}

TEST_F(History, OfEverySubjectIsWhatAskingForItAloneGives) {
  fill_at_random();
  ASSERT_TRUE(ledger_->commit().ok());
  auto reader = Ledger::read(temp_.path());
  ASSERT_TRUE(reader.ok());
  const auto all = walk(**reader);
  std::vector<Number> expected;
  for (Number subject = 1; subject <= 300; ++subject) {
    const SubjectHistory alone = asked_alone(**reader, subject);
    if (!alone.readings.empty() || !alone.cases.empty()) expected.push_back(subject);
  }
  ASSERT_EQ(all.size(), expected.size());
  EXPECT_GT(expected.size(), 250u);
  EXPECT_LT(expected.size(), 300u);
  for (size_t i = 0; i < all.size(); ++i) {
    SCOPED_TRACE(expected[i]);
    const SubjectHistory alone = asked_alone(**reader, expected[i]);
    EXPECT_EQ(all[i].subject, expected[i]);
    EXPECT_EQ(all[i].key, alone.key);
    expect_equal(all[i].readings, alone.readings);
    expect_equal(all[i].declarations, alone.declarations);
    expect_equal(all[i].cases, alone.cases);
    expect_equal(all[i].outcomes, alone.outcomes);
  }
}

TEST_F(History, OfAnEmptyLedgerIsEmpty) {
  ASSERT_TRUE(ledger_->commit().ok());
  EXPECT_TRUE(subjects(*ledger_).empty());
}

TEST_F(History, LeavesOutWhatHasNoReadingAndNoCase) {
  const Number measured = add_subject("R1"), declared = add_subject("R2"), decided = add_subject("R3");
  add_reading(measured, 5);
  add_reading(0, 6);
  add_declaration(declared, 1);
  add_case(first_case_of(decided), 1);
  EXPECT_EQ(subjects(*ledger_), (std::vector<Number>{measured, decided}));
}

TEST_F(History, EndsEarlyWithTheErrorOfTheOneWhoLooks) {
  for (const char* key : {"R1", "R2", "R3"}) add_reading(add_subject(key), 5);
  ASSERT_TRUE(ledger_->commit().ok());
  size_t seen = 0;
  const auto stop_at_the_second = [&](const SubjectHistory&) {
    return ++seen == 2 ? Result<void>(base::call_error("enough")) : Result<void>();
  };
  const auto done = ledger_->each_history(stop_at_the_second);
  ASSERT_FALSE(done.ok());
  EXPECT_EQ(done.error().text, "enough");
  EXPECT_EQ(seen, 2u);
  EXPECT_TRUE(ledger_->begin().ok()) << "the look at the ledger has ended too";
  ledger_->rollback();
}

TEST_F(History, TheOneWhoLooksMayAskOtherThings) {
  fill_at_random();
  ASSERT_TRUE(ledger_->commit().ok());
  const auto all = subjects(*ledger_);
  size_t seen = 0;
  const auto ask = [&](const SubjectHistory& history) {
    if (seen++ % 50 == 0) {
      EXPECT_EQ(subjects(*ledger_), all) << "another walk";
    }
    EXPECT_EQ(ledger_->subject_key(history.subject), history.key);
    EXPECT_EQ(ledger_->readings_of(history.subject, Instant::min(), Instant::max())->size(), history.readings.size());
    EXPECT_EQ(ledger_->declarations_of(history.subject)->size(), history.declarations.size());
    EXPECT_EQ(ledger_->cases_of(history.subject)->size(), history.cases.size());
    for (const OutcomeRow& row : history.outcomes) EXPECT_TRUE(*ledger_->outcome(row.case_number, row.sequence));
    return Result<void>();
  };
  ASSERT_TRUE(ledger_->each_history(ask).ok());
  EXPECT_EQ(seen, all.size());
}

TEST_F(History, IsOfOneMomentWhateverIsWrittenMeanwhile) {
  const Number first = add_subject("R1"), second = add_subject("R2");
  add_reading(first, 5);
  add_reading(second, 5);
  ASSERT_TRUE(ledger_->commit().ok());
  auto reader = Ledger::read(temp_.path());
  ASSERT_TRUE(reader.ok());
  const auto write_more = [&](const SubjectHistory& history) {
    EXPECT_EQ(history.readings.size() + history.cases.size(), 1u);
    EXPECT_TRUE(ledger_->begin().ok());
    add_reading(second, 100 + history.subject);
    add_case(first_case_of(second) + history.subject, 1);
    add_reading(add_subject("R3"), 200 + history.subject);
    EXPECT_TRUE(ledger_->commit().ok());
    EXPECT_TRUE((*reader)->cases_of(second)->empty()) << "what is asked besides is of the same moment";
    return Result<void>();
  };
  ASSERT_TRUE((*reader)->each_history(write_more).ok());
  EXPECT_EQ(subjects(**reader).size(), 3u);
  EXPECT_EQ((*reader)->cases_of(second)->size(), 2u);
}

TEST_F(History, TheWriterSeesWhatItHasNotCommittedYet) {
  add_reading(add_subject("R1"), 5);
  EXPECT_EQ(subjects(*ledger_).size(), 1u);
  ledger_->rollback();
  EXPECT_TRUE(subjects(*ledger_).empty()) << "the walk has not ended the writer's transaction";
}

}  // namespace
}  // namespace girdle::ledger
