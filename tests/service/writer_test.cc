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
