// A sink whose reader has a process of its own: nobody on the intakes' thread waits for it but the intake, and the
// operator sees what became of it.
#include <gmock/gmock.h>
#include <signal.h>
#include <sys/socket.h>
#include <unistd.h>

#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <filesystem>

#include "base/task_group.h"
#include "service/rules_of.h"
#include "reader_host/processes.h"
#include "reading/odd.h"
#include "service/intake_sink.h"
#include "service/temp_ledger.h"

namespace girdle::service {
namespace {

namespace asio = boost::asio;
using std::chrono::milliseconds;
using std::chrono::steady_clock;
using testing::AllOf;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::SizeIs;

// Gives up what it began when it is cancelled, as intakes do.
asio::awaitable<void> take(IntakeSink& sink, model::Document document, std::string bytes, bool& committed) {
  struct Begun {
    IntakeSink* sink;
    ~Begun() {
      if (sink != nullptr) sink->abandon();
    }
  } begun{&sink};
  sink.begin(document, {});
  co_await sink.feed(bytes);
  co_await sink.finish(true);
  model::FilePosition position;
  position.name = document.name;
  position.size = position.offset = bytes.size();
  co_await sink.commit(position, [&committed](bool done) { committed = done; });
  begun.sink = nullptr;
}

// How long nothing else had its turn on the thread.
asio::awaitable<void> watch(steady_clock::duration& longest) {
  asio::steady_timer timer(co_await asio::this_coro::executor);
  for (auto last = steady_clock::now();;) {
    timer.expires_after(milliseconds(1));
    co_await timer.async_wait(asio::use_awaitable);
    const auto now = steady_clock::now();
    longest = std::max(longest, now - last);
    last = now;
  }
}

class IsolatedReaderTest : public testing::Test {
 protected:
  IsolatedReaderTest() {
    writer_.adopt(adoption_of({}, {}), nullptr);
    writer_.start();
    lookups_ = *ledger::Ledger::read(temp_.path());
  }
  ~IsolatedReaderTest() override {
    stop();
    writer_.stop();
    loop_.restart();
    loop_.poll();
  }

  void open(const std::string& behaviour, reading::Isolation isolation = reading::test_isolation()) {
    auto reader = reading::open_odd(behaviour, std::move(isolation));
    ASSERT_TRUE(reader) << reader.error().text;
    sink_ = std::make_unique<IntakeSink>("lines", *reader, writer_, *lookups_, room_, loop_.get_executor(), log_);
  }

  model::Document document_of(const std::string& bytes) {
    model::Document document;
    document.name = std::to_string(++documents_) + ".txt";
    document.digest = base::sha256(document.name + bytes);
    document.size = bytes.size();
    return document;
  }

  model::Document start(const std::string& bytes) {
    model::Document document = document_of(bytes);
    committed_ = false;
    tasks_.spawn(take(*sink_, document, bytes, committed_));
    return document;
  }

  bool until(const std::function<bool()>& holds) {
    const auto deadline = steady_clock::now() + std::chrono::seconds(30);
    while (!holds() && steady_clock::now() < deadline) {
      loop_.restart();
      loop_.run_for(milliseconds(1));
    }
    return holds();
  }

  model::Document taken(const std::string& bytes) {
    const model::Document document = start(bytes);
    EXPECT_TRUE(until([&] { return committed_; }));
    return document;
  }

  void stop() {
    bool ended = false;
    asio::co_spawn(loop_, tasks_.stop(), [&ended](std::exception_ptr) { ended = true; });
    EXPECT_TRUE(until([&] { return ended; }));
  }

  bool is_complete(const model::Document& document) {
    return lookups_->knows_document(*lookups_->find_intake("lines"), document.digest);
  }
  std::optional<pid_t> process() const {
    const auto all = reading::children();
    return all.empty() ? std::nullopt : std::optional(all.front().id);
  }

  asio::io_context loop_;
  TempLedger temp_;
  base::SystemClock clock_;
  base::Log log_ = base::Log::to_memory();
  Writer writer_{temp_.open(), clock_, base::Log::to_nowhere(), "quay-street",
                 {.on_fresh = {}, .on_room = [this] { asio::post(loop_, [this] { room_.notify(); }); }, .on_fault = {}}};
  Room room_{loop_.get_executor(), writer_};
  std::unique_ptr<ledger::Ledger> lookups_;
  std::unique_ptr<IntakeSink> sink_;
  base::TaskGroup tasks_{loop_.get_executor(), [](std::exception_ptr) { ADD_FAILURE() << "a task failed"; }};
  bool committed_ = false;
  int documents_ = 0;
};

TEST_F(IsolatedReaderTest, ReadsSmallAndLargeDocuments) {
  open("");
  EXPECT_TRUE(is_complete(taken("R1\nR2")));
  EXPECT_EQ(lookups_->counts()->declarations, 2);
  std::string large;
  for (int i = 0; i < 30'000; ++i) large += "S" + std::to_string(i) + '\n';
  ASSERT_GT(large.size(), size_t{128 << 10});
  EXPECT_TRUE(is_complete(taken(large)));
  EXPECT_EQ(lookups_->counts()->declarations, 30'002);
  EXPECT_EQ(lookups_->counts()->asides, 0);
  EXPECT_THAT(log_.text(), IsEmpty());
}

TEST_F(IsolatedReaderTest, TellsOfAReaderThatCrashedAndGoesOn) {
  open("feed@BAD:write_and_crash");
  EXPECT_FALSE(is_complete(taken("BAD\n")));
  EXPECT_THAT(sink_->trouble(), AllOf(HasSubstr("SIGABRT"), HasSubstr("it wrote: the\\x1b lamp")));
  EXPECT_THAT(log_.text(), AllOf(HasSubstr("error reader given up"), HasSubstr("SIGABRT")));
  EXPECT_EQ(lookups_->counts()->asides, 1);
  EXPECT_THAT(log_.text(), Not(HasSubstr("well again")));
  taken("BAD\nR0\n");
  const std::string log = log_.text();
  EXPECT_EQ(log.find("reader given up"), log.rfind("reader given up")) << "said once while it lasts";
  EXPECT_EQ(lookups_->counts()->asides, 2);
  EXPECT_TRUE(is_complete(taken("R1\n")));
  EXPECT_EQ(sink_->trouble(), "");
  EXPECT_THAT(log_.text(), HasSubstr("info the reader is well again"));
  EXPECT_EQ(lookups_->counts()->declarations, 1);
}

// Promise 9: a bad reader hurts nobody else.
TEST_F(IsolatedReaderTest, LeavesTheThreadToOthersWhileItHangs) {
  reading::Isolation isolation = reading::test_isolation();
  isolation.patience = milliseconds(2000);
  open("feed@BAD:hang", isolation);
  taken("R1\n");
  steady_clock::duration longest{};
  tasks_.spawn(watch(longest));
  const model::Document bad = start("BAD\n");
  const auto began = steady_clock::now();
  EXPECT_TRUE(until([&] { return committed_; }));
  EXPECT_GE(steady_clock::now() - began, milliseconds(2000));
  EXPECT_LT(longest, milliseconds(1000));
  EXPECT_FALSE(is_complete(bad));
  EXPECT_THAT(sink_->trouble(), HasSubstr("did not answer in time"));
  EXPECT_TRUE(is_complete(taken("R2\n")));
}

TEST_F(IsolatedReaderTest, StopsAtOnceWhileAReaderHangs) {
  open("feed@BAD:hang");
  start("BAD\n");
  EXPECT_TRUE(until([&] { return process().has_value(); }));
  until([began = steady_clock::now()] { return steady_clock::now() - began > milliseconds(100); });
  const auto asked = steady_clock::now();
  stop();
  sink_.reset();
  EXPECT_LT(steady_clock::now() - asked, milliseconds(2000));
  EXPECT_THAT(reading::children(), IsEmpty());
  EXPECT_FALSE(committed_);
}

TEST_F(IsolatedReaderTest, StopsAtOnceWhileAReaderHangsInTheMiddleOfALargeDocument) {
  open("feed@S:hang");
  std::string large = "S\n";
  while (large.size() < 200'000) large += "R1\n";
  start(large);
  EXPECT_TRUE(until([&] { return process().has_value(); }));
  const auto asked = steady_clock::now();
  stop();
  sink_.reset();
  EXPECT_LT(steady_clock::now() - asked, milliseconds(2000));
  EXPECT_THAT(reading::children(), IsEmpty());
}

TEST_F(IsolatedReaderTest, IsStartedAnewAfterItWasKilledAndSaysSo) {
  open("");
  taken("R1\n");
  ASSERT_TRUE(process());
  kill(*process(), SIGKILL);
  EXPECT_TRUE(is_complete(taken("R2\n")));
  EXPECT_EQ(sink_->trouble(), "");
  EXPECT_THAT(log_.text(), AllOf(HasSubstr("warning reader started anew"), HasSubstr("SIGKILL")));
  EXPECT_EQ(lookups_->counts()->asides, 0);
}

TEST_F(IsolatedReaderTest, ReadsTheNextDocumentAfterOneThatWasBrokenOff) {
  open("");
  sink_->begin(document_of("R1\n"), {});
  sink_->abandon();
  EXPECT_TRUE(is_complete(taken("R2\n")));
  EXPECT_EQ(lookups_->counts()->declarations, 1);
}

TEST_F(IsolatedReaderTest, KeepsDocumentsWaitingWhileItCannotBeStarted) {
  const std::filesystem::path program = temp_.path().string() + ".reader-host";
  std::filesystem::create_symlink(GIRDLE_READER_HOST, program);
  reading::Isolation isolation = reading::test_isolation();
  isolation.host = program;
  open("", isolation);
  std::filesystem::remove(program);
  const model::Document document = start("R1\n");
  EXPECT_TRUE(until([&] { return !sink_->trouble().empty(); }));
  EXPECT_THAT(sink_->trouble(), HasSubstr("cannot start"));
  EXPECT_THAT(log_.text(), HasSubstr("error reader cannot be started; it is tried again"));
  until([began = steady_clock::now()] { return steady_clock::now() - began > milliseconds(500); });
  const std::string log = log_.text();
  EXPECT_EQ(log.find("cannot be started"), log.rfind("cannot be started")) << "said once while it lasts";
  EXPECT_FALSE(committed_);
  std::filesystem::create_symlink(GIRDLE_READER_HOST, program);
  EXPECT_TRUE(until([&] { return committed_; }));
  EXPECT_TRUE(is_complete(document));
  EXPECT_EQ(sink_->trouble(), "");
  std::filesystem::remove(program);
}

TEST_F(IsolatedReaderTest, StopsAtOnceWhileTheReaderCannotBeStarted) {
  const std::filesystem::path program = temp_.path().string() + ".reader-host";
  std::filesystem::create_symlink(GIRDLE_READER_HOST, program);
  reading::Isolation isolation = reading::test_isolation();
  isolation.host = program;
  open("", isolation);
  std::filesystem::remove(program);
  start("R1\n");
  EXPECT_TRUE(until([&] { return !sink_->trouble().empty(); }));
  const auto asked = steady_clock::now();
  stop();
  EXPECT_LT(steady_clock::now() - asked, milliseconds(1000));
}

TEST_F(IsolatedReaderTest, PutsWhatItWritesIntoTheLogOfDetails) {
  open("feed:write_some");
  taken("R1\n");
  EXPECT_THAT(log_.text(), AllOf(HasSubstr("debug reader wrote to standard error"), HasSubstr("yyy")));
}

TEST_F(IsolatedReaderTest, IsThereBeforeTheFirstDocumentWhenItIsWarmedUp) {
  open("");
  EXPECT_THAT(reading::children(), IsEmpty());
  sink_->warm_up();
  ASSERT_THAT(reading::children(), SizeIs(1));
  const pid_t first = *process();
  taken("R1\n");
  EXPECT_EQ(*process(), first);
}

// Whether a wait for the socket to take more ends before its time, when the other side does that.
bool ends_when(const std::function<void(int peer)>& deed) {
  int pair[2];
  EXPECT_EQ(socketpair(AF_UNIX, SOCK_STREAM | SOCK_NONBLOCK, 0, pair), 0);
  const std::string much(4096, 'x');
  while (write(pair[0], much.data(), much.size()) > 0) {
  }
  asio::io_context loop;
  ReaderWait wait(loop.get_executor());
  bool ended = false;
  const reading::Wait to_write{pair[0], 1, true, steady_clock::now() + std::chrono::seconds(60)};
  asio::co_spawn(loop, wait.until(to_write), [&ended](std::exception_ptr) { ended = true; });
  loop.run_for(milliseconds(20));
  EXPECT_FALSE(ended);
  deed(pair[1]);
  loop.run_for(std::chrono::seconds(10));
  close(pair[0]);
  close(pair[1]);
  return ended;
}

TEST(ReaderWait, EndsWhenTheProcessTakesMore) {
  EXPECT_TRUE(ends_when([](int peer) {
    std::string bytes(1 << 20, ' ');
    while (read(peer, bytes.data(), bytes.size()) > 0) {
    }
  }));
}

// Or both would wait for each other: it cannot take more before what it says is heard.
TEST(ReaderWait, EndsWhenTheProcessSaysSomethingInsteadOfTakingMore) {
  EXPECT_TRUE(ends_when([](int peer) { EXPECT_EQ(write(peer, "x", 1), 1); }));
}

}  // namespace
}  // namespace girdle::service
