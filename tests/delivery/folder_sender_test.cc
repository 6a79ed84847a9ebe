#include "delivery/folder_sender.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <boost/asio/bind_cancellation_slot.hpp>
#include <boost/asio/cancellation_signal.hpp>
#include <condition_variable>
#include <filesystem>
#include <mutex>
#include <thread>

#include "delivery/client_runner.h"
#include "delivery/hooked_drop_files.h"
#include "delivery/sample_outcomes.h"
#include "intake/temp_folder.h"

namespace girdle::delivery {
namespace {

namespace asio = boost::asio;
using intake::TempFolder;
using std::chrono::milliseconds;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Pair;
using Clock = std::chrono::steady_clock;
using Op = HookedDropFiles::Op;

// A line an outcome, between a head and a foot; stones without a number it cannot say.
class Lines final : public Body {
 public:
  std::string_view content_type() const override { return "text/plain"; }
  std::string_view extension() const override { return "txt"; }
  void begin(std::string& out) override { out += "head\n"; }
  base::Result<void> add(std::string& out, const model::Outcome& outcome) override {
    if (outcome.stock_number.empty()) return base::input_error("there is no stock number");
    out +=
        outcome.stock_number + ' ' + std::string(model::text(outcome.decision.disposition)) + '\n';
    return {};
  }
  void end(std::string& out) override { out += "foot\n"; }
};

// Holds whoever comes to it until it is opened.
class Barrier {
 public:
  void wait() {
    std::unique_lock lock(mutex_);
    ++came_;
    changed_.wait(lock, [this] { return open_; });
  }
  void open() {
    const std::lock_guard lock(mutex_);
    open_ = true;
    changed_.notify_all();
  }
  int came() {
    const std::lock_guard lock(mutex_);
    return came_;
  }

 private:
  std::mutex mutex_;
  std::condition_variable changed_;
  bool open_ = false;
  int came_ = 0;
};

class FolderSenderTest : public testing::Test {
 protected:
  ~FolderSenderTest() override { barrier_->open(); }

  FileNames names_for(const std::string& pattern) {
    config::DropFolder folder;
    folder.name = pattern;
    const std::string file = "girdled.yaml";
    config::Problems problems;
    auto names = FileNames::compile(folder, "txt", config::Report(file, problems));
    return std::move(names).value();
  }

  std::unique_ptr<FolderSender> sender(milliseconds timeout = milliseconds(20'000),
                                       const std::string& pattern = "{id}.txt") {
    return std::make_unique<FolderSender>(
        io_.get_executor(), folder_.path().string(), "quay-street inventory", names_for(pattern),
        std::make_unique<Lines>(), FolderSender::Options{timeout, &clock_}, files_);
  }

  base::ManualClock clock_{base::from_millis(1793614530000)};  // 2026-11-02T10:15:30Z

  Attempt send(FolderSender& by, const std::vector<model::Delivery>& deliveries) {
    return run(io_, by.send(deliveries));
  }

  std::vector<std::string> names() const {
    std::vector<std::string> found;
    for (const auto& entry : std::filesystem::directory_iterator(folder_.path())) {
      found.push_back(entry.path().filename());
    }
    std::sort(found.begin(), found.end());
    return found;
  }

  // The file system hangs at each operation of this kind until the barrier opens. Threads that hang
  // outlive the test: they have all that they use.
  void hang_at(Op op) {
    barrier_->open();
    barrier_ = std::make_shared<Barrier>();
    files_ = std::make_shared<HookedDropFiles>();
    files_->before = [barrier = barrier_, op](Op at) {
      if (at == op) barrier->wait();
      return 0;
    };
  }

  TempFolder folder_;
  std::shared_ptr<HookedDropFiles> files_ = std::make_shared<HookedDropFiles>();
  asio::io_context io_;
  std::shared_ptr<Barrier> barrier_ = std::make_shared<Barrier>();
};

TEST_F(FolderSenderTest, NamesStandInTheOrderOfWritingAlsoWhileTheClockIsSetBack) {
  const auto by = sender(milliseconds(20'000), "{time}-{id}.txt");
  send(*by, {sample_delivery(1, 65536, 1)});
  clock_.set(clock_.now() - std::chrono::hours(1));
  send(*by, {sample_delivery(2, 131072, 1)});
  send(*by, {sample_delivery(3, 65536, 2)});
  EXPECT_THAT(names(), testing::ElementsAre("20261102T101530000Z-q1-65536-1.txt", "20261102T101530001Z-q1-131072-1.txt",
                                            "20261102T101530002Z-q1-65536-2.txt"));
}

TEST_F(FolderSenderTest, WritesOneFileAnAttempt) {
  const auto one = sender();
  const Attempt attempt = send(*one, {sample_delivery(1, 42, 3)});
  EXPECT_EQ(attempt.end, Attempt::End::kTaken);
  EXPECT_EQ(attempt.failure, "");
  EXPECT_EQ(attempt.reference, "q1-42-3.txt");
  EXPECT_THAT(names(), ElementsAre("q1-42-3.txt"));
  EXPECT_EQ(folder_.read(attempt.reference), "head\nR1042 refer\nfoot\n");
}

TEST_F(FolderSenderTest, WritesABatchIntoOneFileCalledAfterItsFirst) {
  const auto one = sender(milliseconds(20'000), "{stock_number}-{count}-{id}.txt");
  const Attempt attempt =
      send(*one, {sample_delivery(1, 42, 3), sample_delivery(2, 43, 1), sample_delivery(3, 44, 1)});
  EXPECT_EQ(attempt.end, Attempt::End::kTaken);
  EXPECT_THAT(names(), ElementsAre("R1042-3-q1-42-3.txt"));
  EXPECT_EQ(folder_.read("R1042-3-q1-42-3.txt"),
            "head\nR1042 refer\nR1043 refer\nR1044 refer\nfoot\n");
}

TEST_F(FolderSenderTest, LeavesOutWhatTheBodyCannotSay) {
  auto nameless = sample_delivery(1, 42, 3);
  nameless.outcome.stock_number.clear();
  const auto one = sender(milliseconds(20'000), "{stock_number}-{count}-{id}.txt");
  const Attempt attempt = send(*one, {nameless, sample_delivery(2, 43, 1)});
  EXPECT_EQ(attempt.end, Attempt::End::kTaken);
  EXPECT_THAT(attempt.unwritable, ElementsAre(Pair(0u, "there is no stock number")));
  EXPECT_THAT(names(), ElementsAre("R1043-1-q1-43-1.txt"));
}

TEST_F(FolderSenderTest, WritesNoFileWithoutOutcomes) {
  auto nameless = sample_delivery(1, 42, 3);
  nameless.outcome.stock_number.clear();
  const auto one = sender();
  const Attempt attempt = send(*one, {nameless});
  EXPECT_EQ(attempt.unwritable.size(), 1u);
  EXPECT_THAT(names(), IsEmpty());
}

TEST_F(FolderSenderTest, WritesTheSameFileOnceHoweverOftenItIsAsked) {
  const auto one = sender();
  auto delivery = sample_delivery(1, 42, 3);
  EXPECT_EQ(send(*one, {delivery}).end, Attempt::End::kTaken);
  delivery.attempts = 5;
  EXPECT_EQ(send(*sender(), {delivery}).end, Attempt::End::kTaken);
  EXPECT_EQ(names().size(), 1u);
}

TEST_F(FolderSenderTest, KeepsStockNumbersFromLeavingTheFolder) {
  auto delivery = sample_delivery(1, 42, 3);
  delivery.outcome.stock_number = "../../../escaped";
  const auto one = sender(milliseconds(20'000), "{stock_number}{id}.txt");
  const Attempt attempt = send(*one, {delivery});
  EXPECT_EQ(attempt.end, Attempt::End::kTaken);
  EXPECT_THAT(names(), ElementsAre("%2E.%2F..%2F..%2Fescapedq1-42-3.txt"));
}

TEST_F(FolderSenderTest, SaysWhyAFileCouldNotBeWritten) {
  files_->before = [](Op op) { return op == Op::kWrite ? ENOSPC : 0; };
  const auto one = sender();
  const Attempt attempt = send(*one, {sample_delivery(1, 42, 3)});
  EXPECT_EQ(attempt.end, Attempt::End::kFailed);
  EXPECT_EQ(attempt.failure,
            "the folder " + folder_.path().string() + " has no space left: make room on its disk");
  EXPECT_EQ(attempt.reference, "");
  EXPECT_THAT(names(), IsEmpty());
  files_->before = [](Op) { return 0; };
  EXPECT_EQ(send(*one, {sample_delivery(1, 42, 3)}).end, Attempt::End::kTaken);
}

TEST_F(FolderSenderTest, SaysThatTheFolderIsNotThereAndMakesNone) {
  const auto one = sender();
  std::filesystem::remove(folder_.path());
  const Attempt attempt = send(*one, {sample_delivery(1, 42, 3)});
  EXPECT_EQ(attempt.end, Attempt::End::kFailed);
  EXPECT_THAT(attempt.failure, HasSubstr("is not there"));
  EXPECT_FALSE(std::filesystem::exists(folder_.path()));
  std::filesystem::create_directory(folder_.path());
  EXPECT_EQ(send(*one, {sample_delivery(1, 42, 3)}).end, Attempt::End::kTaken);
}

// Whatever it is that hangs.
TEST_F(FolderSenderTest, DoesNotWaitForAFileSystemThatHangs) {
  for (const Op op : {Op::kOpenFolder, Op::kList, Op::kCreate, Op::kWrite, Op::kSyncFile,
                      Op::kRename, Op::kSyncFolder}) {
    hang_at(op);
    const auto started = Clock::now();
    {
      const auto one = sender(milliseconds(40));
      const Attempt attempt = send(*one, {sample_delivery(1, 42, 3)});
      EXPECT_EQ(attempt.end, Attempt::End::kFailed);
      EXPECT_THAT(attempt.failure, HasSubstr("did not take the file within 40ms"));
      EXPECT_THAT(attempt.failure, HasSubstr(folder_.path().string()));
    }  // nor when it goes
    EXPECT_LT(Clock::now() - started, milliseconds(5'000));
  }
}

TEST_F(FolderSenderTest, StartsNoSecondThreadWhileOneHangs) {
  hang_at(Op::kSyncFile);
  const auto one = sender(milliseconds(30));
  EXPECT_EQ(send(*one, {sample_delivery(1, 42, 3)}).end, Attempt::End::kFailed);
  const auto started = Clock::now();
  for (int i = 0; i < 3; ++i) {
    const Attempt attempt = send(*one, {sample_delivery(1, 42, 3)});
    EXPECT_EQ(attempt.end, Attempt::End::kFailed);
    EXPECT_THAT(attempt.failure, HasSubstr("still waits for the file system"));
  }
  EXPECT_LT(Clock::now() - started, milliseconds(1'000));
  EXPECT_EQ(barrier_->came(), 1);
}

TEST_F(FolderSenderTest, GoesOnWhenTheFileSystemComesBack) {
  hang_at(Op::kSyncFile);
  const auto one = sender(milliseconds(30));
  EXPECT_EQ(send(*one, {sample_delivery(1, 42, 3)}).end, Attempt::End::kFailed);
  barrier_->open();
  Attempt attempt;
  for (int i = 0; i < 500 && attempt.end != Attempt::End::kTaken; ++i) {
    attempt = send(*one, {sample_delivery(1, 42, 3)});
    std::this_thread::sleep_for(milliseconds(2));
  }
  EXPECT_EQ(attempt.end, Attempt::End::kTaken);
  EXPECT_THAT(names(), ElementsAre("q1-42-3.txt"));
}

// A later outcome of the case may have gone out meanwhile.
TEST_F(FolderSenderTest, DropsNoFileThatWasGivenUp) {
  hang_at(Op::kSyncFile);
  {
    const auto one = sender(milliseconds(30));
    EXPECT_EQ(send(*one, {sample_delivery(1, 42, 3)}).end, Attempt::End::kFailed);
  }
  barrier_->open();
  for (int i = 0; i < 500 && !names().empty(); ++i) std::this_thread::sleep_for(milliseconds(2));
  EXPECT_THAT(names(), IsEmpty());
}

TEST_F(FolderSenderTest, DelaysNoOtherOutlet) {
  hang_at(Op::kCreate);
  const auto dead = sender(milliseconds(10'000));
  std::optional<Attempt> ended;
  const std::vector<model::Delivery> first{sample_delivery(1, 42, 3)},
      second{sample_delivery(2, 43, 1)};
  asio::cancellation_signal stop;
  asio::co_spawn(io_, keep(dead->send(first), ended),
                 asio::bind_cancellation_slot(stop.slot(), [](auto) {}));
  TempFolder other;
  FolderSender alive(io_.get_executor(), other.path().string(), "quay-street till", names_for("{id}.txt"),
                     std::make_unique<Lines>());
  const auto started = Clock::now();
  EXPECT_EQ(run(io_, alive.send(second)).end, Attempt::End::kTaken);
  EXPECT_LT(Clock::now() - started, milliseconds(5'000));
  EXPECT_FALSE(ended);
  stop.emit(asio::cancellation_type::terminal);
  io_.restart();
  io_.run_for(milliseconds(50));
}

TEST_F(FolderSenderTest, EndsAtOnceWhenItIsCancelled) {
  hang_at(Op::kWrite);
  const auto one = sender();
  std::optional<Attempt> ended;
  std::exception_ptr thrown;
  const std::vector<model::Delivery> deliveries{sample_delivery(1, 42, 3)};
  asio::cancellation_signal stop;
  bool is_over = false;
  asio::co_spawn(io_, keep(one->send(deliveries), ended),
                 asio::bind_cancellation_slot(stop.slot(), [&](std::exception_ptr fault) {
                   thrown = fault;
                   is_over = true;
                 }));
  io_.run_for(milliseconds(20));
  stop.emit(asio::cancellation_type::terminal);
  const auto started = Clock::now();
  io_.restart();
  while (!is_over && io_.run_one_for(milliseconds(1'000)) > 0) {
  }
  EXPECT_TRUE(is_over);
  EXPECT_TRUE(thrown);
  EXPECT_FALSE(ended);
  EXPECT_LT(Clock::now() - started, milliseconds(1'000));
}

}  // namespace
}  // namespace girdle::delivery
