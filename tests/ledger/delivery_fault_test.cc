// What is written of deliveries on a disk that fails: all of a transaction, or nothing; and it can be asked for again.
#include <functional>

#include "fault_vfs.h"
#include "ledger/delivery_table.h"

namespace girdle::ledger {
namespace {

using base::from_millis;
using model::DeliveryState;
using Content = std::vector<std::vector<std::string>>;

class DeliveryFaults : public testing::Test {
 protected:
  static constexpr int64_t kCases = 300;

  // Each case: one sent, one parked; and attempts at both. The log is moved into the file, so that the work under test
  // is all that the file system sees.
  void make() {
    std::filesystem::remove(path());
    std::filesystem::remove(path().string() + "-wal");
    auto made = Ledger::open(path());
    ASSERT_TRUE(made.ok());
    Ledger& ledger = **made;
    ASSERT_TRUE(ledger.begin().ok());
    const Number outlet = *ledger.outlet("till");
    for (int64_t i = 1; i <= kCases; ++i) {
      for (const auto state : {DeliveryState::kSent, DeliveryState::kParked, DeliveryState::kWaiting}) {
        bool head = false;
        DeliveryRow row;
        row.id = *ledger.add_delivery(outlet, first_case_of(i), 1 + static_cast<int64_t>(state), from_millis(i), &head);
        if (state == DeliveryState::kWaiting && i % 2 == 0) continue;
        row.state = state == DeliveryState::kWaiting ? DeliveryState::kParked : state;
        row.attempts = 1;
        const AttemptRow attempt{0, 0, from_millis(i), base::Millis(3), 503, "answered 503", "busy"};
        ASSERT_TRUE(ledger.mark_delivery(row, &attempt).ok());
      }
    }
    ASSERT_TRUE(ledger.commit().ok());
    ledger.tidy(1);
  }

  Content content() const {
    Content content;
    for (const char* const table : {"delivery", "attempt", "attempt_count", "outlet"}) {
      content.push_back(rows(path(), std::string("SELECT * FROM ") + table + " ORDER BY 1, 2"));
    }
    return content;
  }

  // Fails each operation on the file in turn, until the work meets no failure.
  void expect_all_or_nothing(const std::function<base::Result<void>(Ledger&)>& work) {
    int failures = 0;
    for (int64_t operation = 0;; ++operation) {
      make();
      const Content before = content();
      FaultVfs vfs;
      auto opened = Ledger::open_on(path(), vfs.name());
      ASSERT_TRUE(opened.ok());
      Ledger& ledger = **opened;
      const auto transaction = [&]() -> base::Result<void> {
        if (auto done = ledger.begin(); !done) return done;
        if (auto done = work(ledger); !done) return done;
        return ledger.commit();
      };
      vfs.fail_once_after(operation);
      auto done = transaction();
      const bool met = vfs.operations() > operation;
      if (!done) {
        ++failures;
        EXPECT_EQ(done.error().fault, base::Fault::kEnvironment) << done.error().text;
        ledger.rollback();
        ASSERT_EQ(content(), before) << "operation " << operation;
        done = transaction();
        ASSERT_TRUE(done.ok()) << "operation " << operation << ": " << done.error().text;
      }
      opened->reset();
      if (after_.empty()) after_ = content_without_faults(work);
      ASSERT_EQ(content(), after_) << "operation " << operation;
      if (!met) break;
    }
    EXPECT_GE(failures, 2) << "a write of the log, and its sync";
  }

 private:
  std::filesystem::path path() const { return folder_.path() / "ledger.db"; }

  Content content_without_faults(const std::function<base::Result<void>(Ledger&)>& work) {
    make();
    auto ledger = std::move(Ledger::open(path())).value();
    EXPECT_TRUE(ledger->begin().ok() && work(*ledger).ok() && ledger->commit().ok());
    ledger.reset();
    const Content after = content();
    EXPECT_NE(after, Content());
    return after;
  }

  TempFolder folder_;
  Content after_;
};

TEST_F(DeliveryFaults, AMarkAndItsAttemptAreKeptTogetherOrNotAtAll) {
  expect_all_or_nothing([](Ledger& ledger) -> base::Result<void> {
    for (Number id = 6; id <= 60; id += 6) {
      auto row = ledger.delivery(id);
      if (!row) return row.error();
      DeliveryRow marked = **row;
      EXPECT_EQ(marked.state, DeliveryState::kWaiting);
      marked.state = DeliveryState::kSent;
      marked.due.reset();
      marked.attempts = 2;
      marked.reference = "A-" + std::to_string(id);
      const AttemptRow attempt{0, 0, from_millis(9000), base::Millis(4), 200, "", "{\"id\":\"A\"}"};
      if (auto done = ledger.mark_delivery(marked, &attempt); !done) return done.error();
    }
    return {};
  });
}

TEST_F(DeliveryFaults, SendingAgainHappensAsAWhole) {
  expect_all_or_nothing([](Ledger& ledger) -> base::Result<void> {
    Selection parked;
    parked.parked = true;
    const auto resent = ledger.resend(parked, from_millis(9000));
    if (!resent) return resent.error();
    EXPECT_EQ(resent->again, kCases) << "of every other case both that are parked; of the others a later one waits";
    EXPECT_EQ(resent->overtaken, kCases / 2);
    return {};
  });
}

TEST_F(DeliveryFaults, NoAttemptIsLostOrCountedTwiceWhenTheyAreFolded) {
  expect_all_or_nothing([](Ledger& ledger) -> base::Result<void> {
    const auto folded = ledger.fold_attempts(from_millis(100'000), 500);
    if (!folded) return folded.error();
    EXPECT_EQ(*folded, 500);
    return {};
  });
}

TEST_F(DeliveryFaults, APauseAndItsEndHoldOrNeverWere) {
  expect_all_or_nothing([](Ledger& ledger) -> base::Result<void> {
    auto paused = ledger.pause_outlet(1, "stock-taking", from_millis(9000));
    return paused ? base::Result<void>() : paused.error();
  });
}

}  // namespace
}  // namespace girdle::ledger
