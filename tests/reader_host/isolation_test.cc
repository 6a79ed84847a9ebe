// Readers in processes of their own that do what no reader may: each costs its document, with the
// reason, and nothing else.
#include <gmock/gmock.h>
#include <signal.h>
#include <sys/wait.h>

#include <set>
#include <thread>

#include "reader_host/processes.h"
#include "reading/odd.h"

namespace girdle::reading {
namespace {

using std::chrono::milliseconds;
using testing::AllOf;
using testing::AnyOf;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::SizeIs;

#if defined(__SANITIZE_ADDRESS__)
constexpr bool kSanitized = true;  // dies in its own way, where a signal was meant
#else
constexpr bool kSanitized = false;
#endif

Isolation within(milliseconds patience) {
  Isolation isolation = test_isolation();
  isolation.patience = patience;
  return isolation;
}

void expect_nothing_left(size_t descriptors_before) {
  EXPECT_THAT(children(), IsEmpty());
  EXPECT_EQ(descriptors(), descriptors_before);
}

// Good documents before and after a bad one are read; the bad one is set aside with the reason.
void expect_one_document_lost(const std::string& behaviour, const std::string& reason,
                              Isolation isolation) {
  const size_t before = descriptors();
  {
    const auto reader = open_odd(behaviour, std::move(isolation));
    ASSERT_TRUE(reader) << reader.error().text;
    for (const std::string stock : {"R1\n", "R2\n"})
      ASSERT_THAT(read(**reader, {stock}).records.declarations, SizeIs(1));
    const Read bad = read_at_once(**reader, "BAD\nR3\nR4");
    EXPECT_THAT(bad.fault, AllOf(HasSubstr("the reader odd "), HasSubstr(reason)));
    EXPECT_EQ(bytes_of(bad.records.asides), "BAD\nR3\nR4");
    for (const model::Aside& aside : bad.records.asides) EXPECT_EQ(aside.reason, bad.fault);
    EXPECT_EQ(bad.consumed, 9u);
    for (const std::string stock : {"R5\n", "R6\n"}) {
      const Read good = read(**reader, {stock});
      EXPECT_EQ(good.fault, "");
      EXPECT_THAT(good.records.declarations, SizeIs(1));
    }
    EXPECT_THAT(children(), SizeIs(1));
  }
  expect_nothing_left(before);
}

struct Misdeed {
  const char* behaviour;
  const char* reason;
};
void PrintTo(const Misdeed& misdeed, std::ostream* out) { *out << misdeed.behaviour; }
class AfterAMisdeed : public testing::TestWithParam<Misdeed> {};

TEST_P(AfterAMisdeed, OnlyTheDocumentIsSetAside) {
  expect_one_document_lost(GetParam().behaviour, GetParam().reason, test_isolation());
}

std::string test_name(const testing::TestParamInfo<Misdeed>& info) {
  std::string name;
  for (const char c : std::string(info.param.behaviour)) {
    if (c != '@' && c != ':') name += c;
  }
  return name;
}

// Names and numbers of signals: signal(7). Of system calls: syscalls(2).
INSTANTIATE_TEST_SUITE_P(
    Crashes, AfterAMisdeed,
    testing::Values(
        Misdeed{"feed@BAD:crash", "crashed: its process was ended by signal 11 (SIGSEGV)"},
        Misdeed{"feed@BAD:abort", "crashed: its process was ended by signal 6 (SIGABRT)"},
        Misdeed{"feed@BAD:throw", "(SIGABRT)"}, Misdeed{"feed@BAD:overflow_stack", "(SIGSEGV)"},
        Misdeed{"feed@BAD:exit_0", "ended its process (exit code 0)"},
        Misdeed{"feed@BAD:exit_3", "ended its process (exit code 3)"}),
    test_name);
INSTANTIATE_TEST_SUITE_P(
    Forbidden, AfterAMisdeed,
    testing::Values(Misdeed{"feed@BAD:read_file",
                            "made the system call openat, which no reader may make"},
                    Misdeed{"feed@BAD:write_file", "the system call openat"},
                    Misdeed{"feed@BAD:connect", "the system call socket"},
                    Misdeed{"feed@BAD:fork", "the system call clone"},
                    Misdeed{"feed@BAD:exec", "the system call execve"},
                    Misdeed{"feed@BAD:thread", "made a system call that no reader may make"},
                    Misdeed{"feed@BAD:kill_parent", "the system call kill"},
                    Misdeed{"feed@BAD:sleep", "the system call clock_nanosleep"},
                    Misdeed{"feed@BAD:run_data", "the system call mmap"},
                    Misdeed{"feed@BAD:close_socket", "the system call close"},
                    Misdeed{"feed@BAD:shut_socket", "the system call shutdown"}),
    test_name);
INSTANTIATE_TEST_SUITE_P(
    Lies, AfterAMisdeed,
    testing::Values(Misdeed{"feed@BAD:send_garbage", "sent what is no answer"},
                    Misdeed{"feed@BAD:send_large_size", "sent what is no answer"},
                    Misdeed{"feed@BAD:send_other_type", "sent what is no answer"},
                    Misdeed{"feed@BAD:send_answers", "sent what is no answer"},
                    Misdeed{"feed@BAD:send_done", "sent what is no answer"},
                    Misdeed{"feed@BAD:send_half_records", "sent what is no answer"},
                    Misdeed{"feed@BAD:send_without_end", "said more than there was to say"}),
    test_name);

// At every call: a crash, and a hang, which ends when its time is up.
class AtEveryCall : public testing::TestWithParam<const char*> {};

TEST_P(AtEveryCall, ACrashCostsOnlyTheDocument) {
  expect_one_document_lost(std::string(GetParam()) + "@BAD:abort", "(SIGABRT)", test_isolation());
}

TEST_P(AtEveryCall, AHangCostsOnlyTheDocument) {
  expect_one_document_lost(std::string(GetParam()) + "@BAD:hang", "did not answer in time (1 s",
                           within(milliseconds(1000)));
}

INSTANTIATE_TEST_SUITE_P(Calls, AtEveryCall,
                         testing::Values("feed", "finish", "consumed", "save", "destroy"),
                         [](const auto& test) { return test.param; });

TEST(IsolatedReader, CrashesAndHangsInCreateWithoutHarm) {
  for (const auto& [deed, reason] : {std::pair("abort", "(SIGABRT)"), {"hang", "in time"}}) {
    const auto reader = *open_odd(std::string("create@BAD:") + deed, within(milliseconds(1000)));
    auto document = *reader->begin("BAD");
    model::Records records;
    document.feed("R1\n", records);
    document.finish(true, records);
    EXPECT_THAT(document.fault(), HasSubstr(reason));
    EXPECT_EQ(bytes_of(records.asides), "R1\n");
    EXPECT_EQ(read(*reader, {"R2\n"}).fault, "");
  }
}

TEST(IsolatedReader, TellsAtOnceThatAReaderCannotEvenBegin) {
  const size_t before = descriptors();
  EXPECT_THAT(open_odd("create:abort", test_isolation()).error().text,
              AllOf(HasSubstr("the reader odd crashed"), HasSubstr("SIGABRT")));
  EXPECT_THAT(open_odd("create:connect", test_isolation()).error().text,
              HasSubstr("the system call socket"));
  EXPECT_THAT(open_odd("create:hang", within(milliseconds(500))).error().text,
              HasSubstr("did not answer in time (500 ms"));
  expect_nothing_left(before);
}

// The code of a library that runs when it is loaded is in the sandbox already.
TEST(IsolatedReader, DoesNotLoadARudeLibrary) {
  const size_t before = descriptors();
  for (const auto& [reader, reason] : {std::pair("rude-hang", "did not answer in time"),
                                       {"rude-crash", "(SIGSEGV)"},
                                       {"rude-fork", "the system call clone"},
                                       {"rude-connect", "the system call socket"},
                                       {"rude-write-file", "the system call openat"}}) {
    const auto opened = open_odd("", within(milliseconds(1000)), reader);
    ASSERT_FALSE(opened) << reader;
    EXPECT_THAT(opened.error().text, AllOf(HasSubstr(std::string("reader ") + reader),
                                           HasSubstr("when it is loaded"), HasSubstr(reason)));
  }
  expect_nothing_left(before);
}

// What is said of a library is the same in both carriers, in whatever process it was found out.
TEST(IsolatedReader, SaysTheSameOfWhatIsNoReaderOrOfAnotherVersion) {
  for (const char* reader : {"newer", "half-library", "half", "absent", "text", "unpromised",
                             "small", "other-abi", "older-abi"}) {
    const auto here = open_odd("", std::nullopt, reader),
               there = open_odd("", test_isolation(), reader);
    ASSERT_FALSE(here) << reader;
    ASSERT_FALSE(there) << reader;
    EXPECT_EQ(here.error().text, there.error().text);
    EXPECT_THAT(here.error().text, HasSubstr(std::string("reader ") + reader + ": "));
  }
}

TEST(IsolatedReader, TakesAReaderWhoseStructsHaveGrown) {
  for (const Carried carried : {Carried::kInProcess, Carried::kToProcess}) {
    const auto reader = open_odd("", isolation_of(carried), "grown");
    ASSERT_TRUE(reader) << reader.error().text;
    const Read result = read(**reader, {"R1", "042x"});
    EXPECT_EQ(result.fault, "");
    ASSERT_THAT(result.records.declarations, SizeIs(1));
    EXPECT_EQ(result.records.declarations[0].stock_number, "R1042");
    ASSERT_THAT(result.records.asides, SizeIs(1));
    EXPECT_EQ(result.records.asides[0].reason, "the last byte");
  }
}

TEST(IsolatedReader, TellsThatItsProgramIsNotThere) {
  Isolation isolation = test_isolation();
  isolation.host = "/nowhere/girdled-reader-host";
  EXPECT_THAT(open_odd("", isolation).error().text,
              AllOf(HasSubstr("/nowhere/girdled-reader-host"), HasSubstr("No such file")));
}

// Whether girdled learns of it before it asks, or in the middle of asking.
TEST(IsolatedReader, IsStartedAnewAfterItWasKilledBetweenTwoDocuments) {
  const size_t before = descriptors();
  for (int round = 0; round < 20; ++round) {
    const auto reader = *open_odd("", test_isolation());
    ASSERT_EQ(read(*reader, {"R1\n"}).fault, "");
    ASSERT_THAT(children(), SizeIs(1));
    const pid_t first = children()[0].id;
    kill(first, SIGKILL);
    if (round % 2 == 0) std::this_thread::sleep_for(milliseconds(5));
    const Read next = read(*reader, {"R2\n", "R3\n"});
    EXPECT_EQ(next.fault, "");
    EXPECT_THAT(next.records.declarations, SizeIs(2));
    ASSERT_THAT(children(), SizeIs(1));
    EXPECT_NE(children()[0].id, first);
    EXPECT_THAT(reader->take_news().warning,
                AllOf(HasSubstr("(SIGKILL)"), HasSubstr("between two documents")));
    EXPECT_TRUE(reader->take_news().empty());
  }
  expect_nothing_left(before);
}

TEST(IsolatedReader, LosesTheDocumentInTheMiddleOfWhichItIsKilled) {
  const auto reader = *open_odd("feed@BAD:hang", test_isolation());
  auto document = reader->begin();
  model::Records records;
  document->feed("R1\n", records);
  kill(children().at(0).id, SIGKILL);
  document->finish(true, records);
  EXPECT_THAT(document->fault(), HasSubstr("(SIGKILL)"));
  EXPECT_EQ(read(*reader, {"R2\n"}).fault, "");
}

TEST(IsolatedReader, KeepsItsProcessFromDocumentToDocument) {
  const auto reader = *open_odd("", test_isolation());
  read(*reader, {"R1\n"});
  const pid_t first = children().at(0).id;
  for (int i = 0; i < 20; ++i) EXPECT_EQ(read(*reader, {"R2\n", "R3"}).fault, "");
  EXPECT_EQ(read(*reader, {"R4"}, false).consumed, 0u);
  { auto dropped = reader->begin(); }
  {
    auto broken_off = reader->begin();
    model::Records records;
    broken_off->feed("R5\n", records);
  }
  EXPECT_EQ(read(*reader, {"R6\n"}).fault, "");
  ASSERT_THAT(children(), SizeIs(1));
  EXPECT_EQ(children()[0].id, first);
}

TEST(IsolatedReader, BlamesADocumentThatWasBrokenOffForNothing) {
  const auto reader = *open_odd("destroy@BAD:hang", within(milliseconds(1000)));
  {
    auto broken_off = reader->begin();
    model::Records records;
    broken_off->feed("BAD\n", records);
    EXPECT_EQ(broken_off->fault(), "");
  }
  EXPECT_EQ(read(*reader, {"R1\n"}).fault, "");
  EXPECT_THAT(reader->take_news().warning, HasSubstr("after a document that was broken off"));
}

TEST(IsolatedReader, IsEndedWhenADocumentIsDroppedInTheMiddleOfACall) {
  const size_t before = descriptors();
  const auto reader = *open_odd("feed@BAD:hang", test_isolation());
  const auto began = std::chrono::steady_clock::now();
  {
    auto document = reader->begin();
    model::Records records;
    document->start_feed("BAD\n", records);
    while (children().empty()) block(*document->step());
    for (int i = 0; i < 3; ++i) document->step();
  }
  EXPECT_EQ(read(*reader, {"R1\n"}).fault, "");
  EXPECT_LT(std::chrono::steady_clock::now() - began, std::chrono::seconds(10));
  EXPECT_THAT(children(), SizeIs(1));
  EXPECT_LE(descriptors(), before + 4);
}

TEST(IsolatedReader, ReadsOneDocumentAtATime) {
  const auto reader = *open_odd("", test_isolation());
  auto one = reader->begin(), two = reader->begin();
  model::Records of_one, of_two;
  one->feed("R1\n", of_one);
  two->feed("R2\n", of_two);
  one->finish(true, of_one);
  two->finish(true, of_two);
  EXPECT_EQ(one->fault(), "");
  EXPECT_THAT(of_one.declarations, SizeIs(1));
  EXPECT_THAT(two->fault(), HasSubstr("one document at a time"));
  EXPECT_EQ(bytes_of(of_two.asides), "R2\n");
}

TEST(IsolatedReader, LosesOneDocumentToALeakAndThenHasAllItsMemoryAgain) {
  if (kSanitized) GTEST_SKIP() << "a sanitizer's memory cannot be limited";
  Isolation isolation = test_isolation();
  isolation.memory = 128 << 20;
  const auto reader = *open_odd("feed:leak_some", isolation);
  int lost = 0, lost_in_a_row = 0;
  for (int i = 0; i < 60; ++i) {
    const Read result = read(*reader, {"R1\n"});
    lost += result.fault.empty() ? 0 : 1;
    lost_in_a_row = result.fault.empty() ? 0 : lost_in_a_row + 1;
    EXPECT_LE(lost_in_a_row, 1);
    EXPECT_EQ(result.records.declarations.size(), result.fault.empty() ? 1u : 0u);
  }
  EXPECT_GE(lost, 1);
  EXPECT_LE(lost, 12);
}

TEST(IsolatedReader, LosesTheDocumentInWhichItTakesAllMemory) {
  expect_one_document_lost("feed@BAD:leak_all", kSanitized ? "" : "(SIGABRT)", test_isolation());
}

TEST(IsolatedReader, KeepsGirdledsMemoryBoundedWhateverItSays) {
  read(**open_odd("", test_isolation()), {"R1\n"});
  for (const char* deed : {"send_garbage", "send_large_size", "send_without_end", "write_much"}) {
    forget_peak();
    const size_t before = peak();
    const auto reader = *open_odd(std::string("feed@BAD:") + deed, within(milliseconds(1000)));
    EXPECT_NE(read(*reader, {"BAD\n"}).fault, "");
    EXPECT_LE(peak(), before + 16) << deed;
  }
}

TEST(IsolatedReader, TellsWhatTheReaderWroteBeforeItsEnd) {
  const auto reader = *open_odd("feed@BAD:write_and_crash", test_isolation());
  EXPECT_THAT(read(*reader, {"BAD\n"}).fault, HasSubstr("it wrote: the\\x1b lamp\\x0a is cold"));
}

TEST(IsolatedReader, MayWriteWithoutEndAndIsNotListenedTo) {
  const auto reader = *open_odd("feed:write_some", test_isolation());
  for (int i = 0; i < 30; ++i) ASSERT_EQ(read(*reader, {"R1\n"}).fault, "") << i;
  const std::string said = reader->take_news().said;
  EXPECT_THAT(said, HasSubstr("yyy"));
  EXPECT_LE(said.size(), 1000u);
  const auto endless = *open_odd("feed@BAD:write_much", within(milliseconds(1000)));
  EXPECT_THAT(read(*endless, {"BAD\n"}).fault, AllOf(HasSubstr("in time"), HasSubstr("xxx")));
}

TEST(IsolatedReader, IsReplacedBeforeItsProcessorTimeIsUp) {
  Isolation isolation = test_isolation();
  isolation.cpu = std::chrono::seconds(1);
  const auto reader = *open_odd("feed:work", isolation);
  std::set<pid_t> processes;
  for (int i = 0; i < 60 && processes.size() < 3; ++i) {
    ASSERT_EQ(read(*reader, {"R1\n"}).fault, "") << i;
    processes.insert(children().at(0).id);
  }
  EXPECT_THAT(processes, SizeIs(3));
}

bool is_gone(pid_t id) {
  for (int i = 0; i < 200; ++i) {
    const auto fields = stat_of(std::to_string(id));
    if (fields.empty() || fields[0] == "Z") return true;  // what is left of it is init's
    std::this_thread::sleep_for(milliseconds(10));
  }
  return false;
}

// No reader outlives a girdled that was killed, not even one that hangs and looks at no socket.
TEST(IsolatedReader, EndsWithAGirdledThatIsKilled) {
  int tell[2];
  ASSERT_EQ(pipe(tell), 0);
  const pid_t girdled = fork();
  if (girdled == 0) {
    const auto reader = *open_odd("feed@BAD:hang", test_isolation());
    auto document = reader->begin();
    model::Records records;
    document->start_feed("BAD\n", records);
    for (int i = 0; i < 50; ++i) {
      if (const auto wait = document->step()) {
        Wait a_little = *wait;
        a_little.until = std::chrono::steady_clock::now() + milliseconds(20);
        block(a_little);
      }
    }
    const pid_t id = children().at(0).id;
    [[maybe_unused]] const ssize_t told = write(tell[1], &id, sizeof id);
    for (;;) pause();
  }
  pid_t reader = 0;
  ASSERT_EQ(::read(tell[0], &reader, sizeof reader), static_cast<ssize_t>(sizeof reader));
  EXPECT_FALSE(stat_of(std::to_string(reader)).empty());
  kill(girdled, SIGKILL);
  waitpid(girdled, nullptr, 0);
  EXPECT_TRUE(is_gone(reader));
  close(tell[0]);
  close(tell[1]);
}

}  // namespace
}  // namespace girdle::reading
