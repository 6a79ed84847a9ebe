#include "vet/apart.h"

#include <gmock/gmock.h>
#include <signal.h>
#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <stdexcept>
#include <thread>

#include "vet/lent_memory.h"
#include "vet/system_calls.h"

namespace girdle::vet {
namespace {

using namespace std::chrono_literals;
using testing::ElementsAre;
using testing::HasSubstr;

// Nothing here is of an outside source: signals and processes are as POSIX has them, the words are
// ours.
Ending run(const std::function<void(Trial&)>& body, std::vector<Message>* messages = nullptr) {
  std::vector<Message> told;
  auto ending = run_apart({.time = 1s, .call = 200ms}, body, told);
  EXPECT_TRUE(ending);
  if (messages) *messages = told;
  return ending ? *ending : Ending();
}

TEST(Apart, BringsBackWhatWasTold) {
  std::vector<Message> messages;
  const Ending ending = run(
      [](Trial& trial) {
        trial.at("a place");
        trial.fault("some.rule", "what", "right");
        trial.fault("some.rule", "what again", "right");
        trial.note("worth knowing");
        trial.measure("records", 3);
        trial.tried(7);
      },
      &messages);
  EXPECT_EQ(ending.how, Ending::How::kDone);
  ASSERT_EQ(messages.size(), 5u);
  EXPECT_EQ(messages[0].kind, Tell::kFault);
  EXPECT_THAT(messages[0].texts, ElementsAre("some.rule", "a place", "what", "right", "0"));
  EXPECT_THAT(messages[1].texts, ElementsAre("worth knowing"));
  EXPECT_THAT(messages[2].texts, ElementsAre("records", "3", ""));
  EXPECT_THAT(messages[3].texts, ElementsAre("some.rule", "1"));
  EXPECT_THAT(messages[4].texts, ElementsAre("7"));
}

TEST(Apart, BringsBackMoreThanAPipeHolds) {
  std::vector<Message> messages;
  run([](Trial& trial) { trial.note(std::string(1 << 20, 'x')); }, &messages);
  ASSERT_EQ(messages.size(), 2u);
  EXPECT_EQ(messages[0].texts[0].size(), 1u << 20);
}

TEST(Apart, TellsASignalAndWhereItCame) {
  for (const int number : {SIGSEGV, SIGABRT, SIGFPE, SIGBUS, SIGILL}) {
    const Ending ending = run([&](Trial& trial) {
      trial.at("here");
      const InCall call(trial, Call::kSave);
      raise(number);
    });
    EXPECT_NE(ending.how, Ending::How::kDone);
    EXPECT_EQ(ending.where, "here");
    if (kSanitized) continue;  // its handler comes first, and ends the process
    EXPECT_EQ(ending.how, Ending::How::kCrashed);
    EXPECT_EQ(ending.signal, number);
    EXPECT_THAT(words_of(ending).what, HasSubstr("crashes in save (SIG"));
  }
}

int deeper(volatile int* from) {
  volatile int block[4096];
  block[0] = from[0] + 1;
  return block[0] == 0 ? 0 : deeper(block) + block[1];
}

TEST(Apart, TellsAStackThatOverflows) {
  const Ending ending = run([](Trial& trial) {
    const InCall call(trial, Call::kFeed);
    volatile int begin = 0;
    deeper(&begin);
  });
  EXPECT_NE(ending.how, Ending::How::kDone);
  EXPECT_EQ(words_of(ending).rule, kSanitized ? "exit" : "crash");
}

TEST(Apart, KillsWhatHangsInACallAndNotWhatIsSlowBetweenCalls) {
  const Ending busy = run([](Trial& trial) {
    const InCall call(trial, Call::kFinish);
    for (volatile bool on = true; on;) {
    }
  });
  EXPECT_EQ(busy.how, Ending::How::kHung);
  EXPECT_THAT(words_of(busy).what, HasSubstr("does not come back in finish"));
  const Ending waiting = run([](Trial& trial) {
    const InCall call(trial, Call::kFeed);
    for (;;) pause();
  });
  EXPECT_EQ(waiting.how, Ending::How::kHung);
  const Ending slow = run([](Trial& trial) {
    for (int i = 0; i < 6; ++i) {
      const InCall call(trial, Call::kFeed);
      std::this_thread::sleep_for(250ms);
    }
  });
  EXPECT_EQ(slow.how, Ending::How::kDone);
}

TEST(Apart, TellsThatTheProcessWasEnded) {
  const Ending ending = run([](Trial& trial) {
    const InCall call(trial, Call::kCreate);
    _exit(0);
  });
  EXPECT_EQ(ending.how, Ending::How::kExited);
  EXPECT_EQ(words_of(ending).what, "ends the process in create");
}

TEST(Apart, KeepsWhatWasWritten) {
  const Ending ending = run([](Trial&) {
    std::printf("out\n");
    std::fprintf(stderr, "err\n");
  });
  EXPECT_EQ(ending.how, Ending::How::kDone);
  EXPECT_THAT(ending.output, testing::AllOf(HasSubstr("out\n"), HasSubstr("err\n")));
}

TEST(Apart, DoesNotWaitForWhatTheProcessStarted) {
  const auto begin = std::chrono::steady_clock::now();
  const Ending ending = run([](Trial&) {
    if (fork() == 0) {
      for (;;) pause();
    }
  });
  EXPECT_EQ(ending.how, Ending::How::kDone);
  EXPECT_LT(std::chrono::steady_clock::now() - begin, 10s);
}

TEST(Apart, GoesOnWithoutMemory) {
  if (kSanitized) GTEST_SKIP() << "there is no limit under a sanitizer";
  std::vector<Message> messages;
  const Ending ending = run(
      [](Trial&) {
        std::vector<std::string> held;
        for (;;) held.emplace_back(64 << 20, 'x');
      },
      &messages);
  EXPECT_EQ(ending.how, Ending::How::kDone);
  ASSERT_FALSE(messages.empty());
  EXPECT_THAT(messages[0].texts[0], HasSubstr("no memory left"));
}

TEST(Apart, LetsNothingThroughButMemory) {
  if (kSanitized) GTEST_SKIP() << "a sanitizer asks the system for much";
  const auto after = [](const std::function<void()>& deed) {
    return run([&](Trial& trial) {
      ASSERT_TRUE(allow_only(Allowed::kMemory, trial.report()));
      const InCall call(trial, Call::kFeed);
      deed();
    });
  };
  const Ending memory = after([] { free(malloc(64 << 20)); });
  EXPECT_EQ(memory.how, Ending::How::kDone);
  const Ending file = after([] { fopen("/etc/hostname", "r"); });
  EXPECT_EQ(file.how, Ending::How::kForbidden);
  EXPECT_EQ(words_of(file).what, "opens a file (openat) in feed");
  const Ending thread = after([] { std::thread([] {}).join(); });
  EXPECT_EQ(words_of(thread).what, "starts a thread or a process (clone) in feed");
  const Ending other = after([] { unlink("/no/such/file"); });
  EXPECT_THAT(words_of(other).what, HasSubstr("none for memory (unlink"));
  const Ending child = after([] { fork(); });
  EXPECT_EQ(words_of(child).what, "starts a thread or a process (clone) in feed");
  const Ending stream = after([] {
    if (write(STDOUT_FILENO, "x", 1) < 0) abort();
  });
  EXPECT_EQ(words_of(stream).what, "writes to a stream (write) in feed");
}

TEST(Apart, LetsALoaderReadFilesAndNothingWriteThem) {
  if (kSanitized) GTEST_SKIP() << "a sanitizer asks the system for much";
  const auto after = [](const char* mode) {
    return run([&](Trial& trial) {
      ASSERT_TRUE(allow_only(Allowed::kLoading, trial.report()));
      const InCall call(trial, Call::kLoad);
      if (FILE* const file = fopen("/dev/null", mode)) fclose(file);
    });
  };
  EXPECT_EQ(after("r").how, Ending::How::kDone);
  EXPECT_EQ(words_of(after("w")).what, "opens a file (openat) in loading");
  EXPECT_EQ(words_of(after("a")).what, "opens a file (openat) in loading");
}

TEST(LentMemory, TellsAReadBehindAndAReadAfterwards) {
  const auto read = [](const char* at) { return *static_cast<const volatile char*>(at); };
  for (const size_t size : {size_t{0}, size_t{1}, size_t{16}, size_t{4096}, size_t{100'000}}) {
    const std::string bytes(size, 'x');
    const Ending behind = run([&](Trial& trial) {
      LentMemory memory(trial.shared());
      const char* const lent = memory.lend(bytes);
      if (size > 0) read(lent + size - 1);  // all of it is there
      const InCall call(trial, Call::kFeed);
      read(lent + size);
    });
    EXPECT_NE(behind.how, Ending::How::kDone);
    if (!kSanitized) {
      EXPECT_EQ(words_of(behind).what, "reads beyond what it was lent in feed") << size;
    }
    if (size == 0) continue;
    const Ending afterwards = run([&](Trial& trial) {
      LentMemory memory(trial.shared());
      const char* const lent = memory.lend(bytes);
      memory.take_back();
      const InCall call(trial, Call::kFeed);
      read(lent);
    });
    EXPECT_NE(afterwards.how, Ending::How::kDone);
    if (!kSanitized) {
      EXPECT_EQ(words_of(afterwards).rule, "lent.afterwards") << size;
    }
  }
}

TEST(LentMemory, BeginsAtAMultipleOfSixteenWhereTheSizeIsOne) {
  SharedState shared;
  LentMemory memory(shared);
  for (const size_t size : {16u, 48u, 4096u, 8000u}) {
    EXPECT_EQ(reinterpret_cast<uintptr_t>(memory.lend(std::string(size, 'x'))) % 16, 0u) << size;
    memory.take_back();
  }
}

}  // namespace
}  // namespace girdle::vet
