// The writer on a disk that refuses: every operation of the file system fails in turn, and nothing is lost.
#include "service/writer.h"

#include <gtest/gtest.h>

#include <atomic>
#include <future>
#include <set>

#include "service/rules_of.h"
#include "ledger/fault_vfs.h"
#include "service/temp_ledger.h"

namespace girdle::service {
namespace {

Batch one_reading(int number) {
  Batch batch;
  batch.document.intake = "exports";
  batch.document.name = "f" + std::to_string(number);
  batch.document.digest = base::sha256(batch.document.name);
  model::Reading r;
  r.instrument = "A-0117";
  r.run = std::to_string(number);
  r.measured_at = base::from_millis(1'793'000'000'000 + number * 60'000);
  r.stock_number = "R" + std::to_string(number % 5);
  r.finding = model::Finding::kNatural;
  batch.records.readings.push_back(std::move(r));
  return batch;
}

int64_t stored_readings(const std::filesystem::path& path) {
  auto ledger = ledger::Ledger::read(path);
  EXPECT_TRUE(ledger.ok()) << (ledger ? "" : ledger.error().text);
  return ledger ? (*ledger)->counts()->readings : -1;
}

TEST(Writer, GroupsWhatWaitsAndTellsEveryoneAfterTheCommit) {
  TempLedger temp;
  base::SystemClock clock;
  std::atomic<int> done{0};
  std::atomic<size_t> fresh{0};
  Writer::Hooks hooks;
  hooks.on_fresh = [&](std::vector<model::Delivery> deliveries) { fresh += deliveries.size(); };
  {
    Writer writer(temp.open(), clock, base::Log::to_nowhere(), "quay-street", std::move(hooks));
    writer.adopt(adoption_of({}, {"till"}), nullptr);
    for (int i = 0; i < 200; ++i) {
      writer.submit(one_reading(i), [&](bool committed) { done += committed; });
    }
    writer.start();
    writer.stop();
  }
  EXPECT_EQ(done, 200);
  EXPECT_EQ(stored_readings(temp.path()), 200);
  EXPECT_EQ(fresh, 5u) << "one head a case";
}

// Promise 1: nothing acknowledged is lost, a disk that fails included. For every N, the Nth operation of the file system
// under the ledger fails once; the writer tries again, and in the end all is there, once.
TEST(Writer, NothingAcknowledgedIsLostWhicheverOperationOfTheDiskFails) {
  constexpr int kRecords = 6;
  int64_t operations = 1;
  for (int64_t n = 0; n < operations; ++n) {
    TempLedger temp;
    temp.open().reset();  // made on a sound disk
    ledger::FaultVfs vfs;
    auto ledger = ledger::Ledger::open_on(temp.path(), vfs.name());
    ASSERT_TRUE(ledger.ok()) << ledger.error().text;
    std::atomic<int> acknowledged{0};
    bool faulted = false;
    {
      base::SystemClock clock;
      Writer::Hooks hooks;
      hooks.on_fault = [&](const base::Error&) { faulted = true; };
      Writer writer(std::move(*ledger), clock, base::Log::to_nowhere(), "quay-street", std::move(hooks));
      vfs.fail_once_after(n);
      std::promise<void> all;
      writer.adopt(adoption_of({}, {"till"}), nullptr);
      for (int i = 0; i < kRecords; ++i) {
        writer.submit(one_reading(i), [&](bool committed) {
          if (committed && ++acknowledged == kRecords) all.set_value();
        });
      }
      writer.start();
      ASSERT_EQ(all.get_future().wait_for(std::chrono::seconds(20)), std::future_status::ready) << "operation " << n;
      writer.stop();
    }
    EXPECT_FALSE(faulted) << "operation " << n;
    ASSERT_EQ(stored_readings(temp.path()), kRecords) << "operation " << n;
    if (n == 0) operations = std::max<int64_t>(vfs.operations(), 10);
  }
  EXPECT_GE(operations, 10);
}

// What the API shows as it happens, and counts.
TEST(Writer, TellsWhatACommitChangedWhileSomebodyListens) {
  TempLedger temp;
  base::SystemClock clock;
  std::atomic<bool> listened = true;
  api::Meters meters;
  meters.instruments.adopt({"A-0117"});
  std::vector<api::Happening> happened;
  Writer::Hooks hooks;
  hooks.listened = &listened;
  hooks.meters = &meters;
  hooks.on_committed = [&](const api::Happening& happening) { happened.push_back(happening); };
  Writer writer(temp.open(), clock, base::Log::to_nowhere(), "quay-street", std::move(hooks));
  writer.start();
  const auto wait = [&](const auto& ask) {
    // Shared: this thread may be gone on before the writer's has come back from telling.
    const auto done = std::make_shared<std::promise<void>>();
    ask([done](bool) { done->set_value(); });
    done->get_future().wait();
  };
  wait([&](auto done) { writer.adopt(adoption_of({}, {"till"}), done); });
  Batch batch = one_reading(1);
  batch.records.readings.push_back(one_reading(6).records.readings[0]);
  batch.records.readings[1].finding = model::Finding::kVoid;
  batch.records.asides.emplace_back().reason = "no word for X";
  wait([&](auto done) { writer.submit(batch, done); });
  Batch copy = one_reading(1);
  wait([&](auto done) { writer.submit(copy, done); });
  ledger::DeliveryRow sent;
  sent.id = 1;
  sent.state = model::DeliveryState::kSent;
  wait([&](auto done) { writer.mark(sent, std::nullopt, [done](bool ok, auto) { done(ok); }); });
  wait([&](auto done) { writer.act([](ledger::Ledger&) { return base::Result<void>(); }, done); });
  listened = false;
  wait([&](auto done) { writer.submit(one_reading(2), done); });
  writer.stop();
  ASSERT_EQ(happened.size(), 3u) << "who changed nothing is not told of";
  EXPECT_EQ(happened[0].readings, 2u);
  EXPECT_EQ(happened[0].asides, 1u);
  ASSERT_EQ(happened[0].decided.size(), 1u);
  EXPECT_EQ(happened[0].decided[0].case_number, ledger::first_case_of(1));
  EXPECT_EQ(happened[0].decided[0].sequence, 1);
  EXPECT_EQ(happened[1].duplicates, 1u);
  EXPECT_EQ(happened[1].decided.size(), 0u);
  EXPECT_EQ(happened[2].marks, 1u);
  EXPECT_EQ(meters.readings, 3u) << "counted whether somebody listens or not";
  EXPECT_EQ(meters.duplicates, 1u);
  EXPECT_EQ(meters.voids, 1u);
  EXPECT_EQ(meters.asides, 1u);
  EXPECT_EQ(meters.outcomes[static_cast<size_t>(model::Disposition::kRepeat)], 2u);
  EXPECT_EQ(meters.instruments.of("A-0117").readings, 3u);
  EXPECT_EQ(meters.instruments.of("A-0117").voids, 1u);
  uint64_t commits = 0;
  for (size_t i = 0; i <= meters.commit.bounds().size(); ++i) commits += meters.commit.bucket(i);
  EXPECT_EQ(commits, 6u);
}

// Binding and deciding, as the API asks for it; both may wait for one commit with the record that they speak of.
TEST(Writer, TakesWhatPersonsSayBetweenWhatInstrumentsSay) {
  TempLedger temp;
  base::SystemClock clock;
  HandFate bound, decided, refused;
  bool committed = false;
  api::Meters meters;
  Writer::Hooks hooks;
  hooks.meters = &meters;
  {
    Writer writer(temp.open(), clock, base::Log::to_nowhere(), "quay-street", std::move(hooks));
    writer.adopt(adoption_of({}, {"till"}), nullptr);
    Batch unbound = one_reading(1);
    unbound.records.readings[0].stock_number.clear();
    writer.submit(unbound, nullptr);
    const api::By kim{"Kim", "the label", "counter-1"};
    writer.bind({1, "R1042", "", kim}, [&](bool, HandFate fate) { bound = std::move(fate); });
    const ledger::Number number = ledger::first_case_of(1);
    writer.decide({number, 1, model::Disposition::kRefer, kim}, [&](bool ok, HandFate fate) {
      committed = ok;
      decided = std::move(fate);
    });
    writer.decide({number, 1, model::Disposition::kHold, kim}, [&](bool, HandFate fate) { refused = std::move(fate); });
    writer.start();
    writer.stop();
  }
  using Kind = HandFate::Kind;
  EXPECT_EQ(bound.kind, Kind::kDone);
  EXPECT_EQ(bound.key, "R1042");
  EXPECT_TRUE(committed);
  EXPECT_EQ(decided.kind, Kind::kDone) << decided.text;
  EXPECT_EQ(decided.sequence, 2);
  EXPECT_EQ(bound.case_number, decided.case_number);
  EXPECT_EQ(refused.kind, Kind::kConflict) << "the other was quicker";
  EXPECT_EQ(meters.decided_by_hand, 1u);
  auto ledger = ledger::Ledger::read(temp.path());
  ASSERT_TRUE(ledger.ok());
  EXPECT_EQ((*(*ledger)->outcome(decided.case_number, 2))->hand->who, "Kim");
}

TEST(Writer, AFullDiskHoldsTheWorkUntilThereIsRoom) {
  TempLedger temp;
  temp.open().reset();
  ledger::FaultVfs vfs;
  auto ledger = ledger::Ledger::open_on(temp.path(), vfs.name());
  ASSERT_TRUE(ledger.ok());
  base::SystemClock clock;
  const base::Log log = base::Log::to_memory();
  std::promise<bool> done;
  Writer writer(std::move(*ledger), clock, log, "quay-street", {});
  vfs.disk_full(true);
  writer.adopt(adoption_of({}, {}), nullptr);
  writer.submit(one_reading(1), [&](bool committed) { done.set_value(committed); });
  writer.start();
  auto future = done.get_future();
  EXPECT_EQ(future.wait_for(std::chrono::milliseconds(400)), std::future_status::timeout);
  vfs.disk_full(false);
  ASSERT_EQ(future.wait_for(std::chrono::seconds(20)), std::future_status::ready);
  EXPECT_TRUE(future.get());
  writer.stop();
  EXPECT_NE(log.text().find("the disk is full"), std::string::npos) << log.text();
  EXPECT_EQ(stored_readings(temp.path()), 1);
}

}  // namespace
}  // namespace girdle::service
