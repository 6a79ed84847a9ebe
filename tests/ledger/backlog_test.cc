// A week's backlog: what is asked of deliveries all the time must not walk through it. Counted is what is read of the
// file, page by page, by a ledger that has just been opened; so the numbers are those of any machine.
//
// GIRDLE_BACKLOG=1000000 makes it as long as the real one. The bounds are the same.
#include <chrono>
#include <cstdio>

#include "fault_vfs.h"
#include "ledger/delivery_table.h"

namespace girdle::ledger {
namespace {

using base::from_millis;
using model::DeliveryState;

constexpr int64_t kFewCases = 4;

// `size` heads of as many cases, due one after another from 1000 on; as many that wait in a few cases; as many that are
// sent, each with an attempt. Made once for all tests.
class Backlog : public testing::Test {
 protected:
  static void SetUpTestSuite() {
    const char* const asked = std::getenv("GIRDLE_BACKLOG");
    size_ = asked ? std::atoll(asked) : 20'000;
    temp_ = new TempLedger;
    auto ledger = temp_->open();
    ASSERT_TRUE(ledger->begin().ok());
    till_ = *ledger->outlet("till");
    for (int64_t i = 0; i < size_; ++i) {
      add(*ledger, first_case_of(1 + i), 1, 1000 + i);
      add(*ledger, first_case_of(size_ + 1 + i % kFewCases), 1 + i / kFewCases, 1000 + i);
      DeliveryRow sent;
      sent.id = add(*ledger, first_case_of(size_ + 10 + i), 1, 1000 + i);
      sent.state = DeliveryState::kSent;
      sent.attempts = 1;
      sent.changed_at = from_millis(2000 + i);
      const AttemptRow attempt{0, 0, sent.changed_at, base::Millis(12), 204, "", "{\"id\":\"9b1f3a52-8d1e-4a55\"}"};
      ASSERT_TRUE(ledger->mark_delivery(sent, &attempt).ok());
    }
    ASSERT_TRUE(ledger->commit().ok());
    ledger->tidy(1);
    ledger.reset();
    ASSERT_GT(std::stoll(value(temp_->path(), "PRAGMA page_count")), size_ / 20) << "walking through it would be seen";
  }
  static void TearDownTestSuite() {
    delete temp_;
    temp_ = nullptr;
  }

  static Number add(Ledger& ledger, Number case_number, int64_t sequence, int64_t at) {
    bool head = false;
    const auto id = ledger.add_delivery(till_, case_number, sequence, from_millis(at), &head);
    EXPECT_TRUE(id.ok());
    return id ? *id : 0;
  }

  Backlog() : ledger_(std::move(Ledger::open_on(temp_->path(), vfs_.name())).value()) {}

  // Pages that `ask` reads. What it changes is undone.
  template <class Ask>
  int64_t reads(Ask ask) {
    EXPECT_TRUE(ledger_->begin().ok());
    const int64_t before = vfs_.reads();
    ask();
    const int64_t count = vfs_.reads() - before;
    ledger_->rollback();
    return count;
  }

  std::vector<DeliveryRow> due(base::Instant now, size_t limit, const std::vector<Number>& except = {}) {
    auto heads = ledger_->due_deliveries(till_, now, limit, except, &next_due_);
    EXPECT_TRUE(heads.ok());
    return std::move(heads).value();
  }

  // The last that waits of one of the few cases is the last but one that was added of all.
  Number of_the_few() const { return 3 * size_ - 1; }

  static inline TempLedger* temp_ = nullptr;
  static inline int64_t size_ = 0;
  static inline Number till_ = 0;
  FaultVfs vfs_;
  std::unique_ptr<Ledger> ledger_;
  base::Instant next_due_{};
};

TEST_F(Backlog, OpensAndGivesItsFirstHeadsAtOnce) {
  ledger_.reset();
  const int64_t before = vfs_.reads();
  const auto begin = std::chrono::steady_clock::now();
  ledger_ = std::move(Ledger::open_on(temp_->path(), vfs_.name())).value();
  EXPECT_EQ(due(base::Instant::max(), 500).size(), 500u);
  const std::chrono::duration<double, std::milli> took = std::chrono::steady_clock::now() - begin;
  std::printf("%.1f ms, %lld pages\n", took.count(), static_cast<long long>(vfs_.reads() - before));
  EXPECT_LT(took.count(), 1000);
  EXPECT_LT(vfs_.reads() - before, 60);
}

TEST_F(Backlog, LoadsHeadsPastThoseThatItHasAlready) {
  std::vector<Number> loaded;
  for (const DeliveryRow& row : due(base::Instant::max(), 2000)) loaded.push_back(row.id);
  ASSERT_EQ(loaded.size(), 2000u);
  ledger_ = nullptr;
  ledger_ = std::move(Ledger::open_on(temp_->path(), vfs_.name())).value();
  EXPECT_LT(reads([&] { EXPECT_EQ(due(base::Instant::max(), 500, loaded).size(), 500u); }), 80);
}

TEST_F(Backlog, KnowsWhenTheFirstIsDueThatIsNot) {
  EXPECT_LT(reads([&] { EXPECT_TRUE(due(from_millis(999), 500).empty()); }), 8);
  EXPECT_EQ(next_due_, from_millis(1000));
}

TEST_F(Backlog, KnowsWhetherAnythingWaits) {
  EXPECT_LT(reads([&] { EXPECT_TRUE(ledger_->has_waiting(till_)); }), 8);
}

TEST_F(Backlog, KnowsWhatIsOvertaken) {
  DeliveryRow row;
  row.outlet = till_;
  row.case_number = first_case_of(size_ + 1);
  for (const int64_t sequence : {int64_t{1}, size_ / kFewCases - 1, size_ / kFewCases}) {
    row.sequence = sequence;
    const int64_t read = reads([&] { EXPECT_EQ(*ledger_->is_overtaken(row), sequence < size_ / kFewCases); });
    EXPECT_LT(read, 8) << sequence;
  }
}

TEST_F(Backlog, AddsToIt) {
  for (const Number case_number : {first_case_of(size_ + 1), first_case_of(9 * size_)}) {
    EXPECT_LT(reads([&] { add(*ledger_, case_number, size_, 5000); }), 20);
  }
}

TEST_F(Backlog, MarksAHeadAndMakesTheNextOne) {
  const Number head = 2;  // the first of the few cases
  const int64_t read = reads([&] {
    DeliveryRow row = **ledger_->delivery(head);
    ASSERT_TRUE(row.due);
    row.state = DeliveryState::kSent;
    row.due.reset();
    const AttemptRow attempt{0, 0, from_millis(9000), base::Millis(3), 200, "", "{}"};
    EXPECT_EQ(*ledger_->mark_delivery(row, &attempt), head + 3 * kFewCases);
  });
  EXPECT_LT(read, 30);
}

TEST_F(Backlog, FindsTheOldestAttempts) {
  EXPECT_LT(reads([&] { EXPECT_EQ(*ledger_->fold_attempts(from_millis(2000), 500), 0); }), 10);
  EXPECT_LT(reads([&] { EXPECT_EQ(*ledger_->fold_attempts(from_millis(1'000'000'000), 500), 500); }), 120);
}

TEST_F(Backlog, FindsTheAttemptsOfADelivery) {
  EXPECT_LT(reads([&] { EXPECT_EQ(ledger_->attempts_of(3)->size(), 1u); }), 8);
}

TEST_F(Backlog, SendsOneAgainAtOnce) {
  Selection selection;
  selection.delivery = of_the_few();
  EXPECT_LT(reads([&] { EXPECT_EQ(ledger_->resend(selection, from_millis(1))->waiting, 1); }), 30);
  selection.delivery = of_the_few() + 1;
  EXPECT_LT(reads([&] { EXPECT_EQ(ledger_->resend(selection, from_millis(1))->again, 1); }), 30);
}

TEST_F(Backlog, FindsNoParkedOnesWithoutLookingAtTheOthers) {
  Selection parked;
  parked.parked = true;
  EXPECT_LT(reads([&] { EXPECT_EQ(ledger_->resend(parked, from_millis(1))->again, 0); }), 20);
  Filter filter;
  filter.word = "parked";
  EXPECT_LT(reads([&] {
              EXPECT_TRUE(ledger_->each_delivery(filter, [](const DeliveryRow&, const std::string&, const std::string&) {}).ok());
            }),
            20);
}

}  // namespace
}  // namespace girdle::ledger
