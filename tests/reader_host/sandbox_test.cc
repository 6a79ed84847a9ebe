// What a reader's process has given up, as the kernel tells it (proc(5), prctl(2), landlock(7)),
// and what is left to code that runs while the library is loaded. What it may not do afterwards:
// isolation_test.cc.
#include "reader_host/sandbox.h"

#include <fcntl.h>
#include <gmock/gmock.h>
#include <linux/landlock.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include <fstream>
#include <functional>
#include <sstream>

#include "reader_host/processes.h"
#include "reader_host/sanitizer.h"
#include "reading/odd.h"
#include "reading/wire.h"

namespace girdle::reader_host {
namespace {

using testing::MatchesRegex;

std::string file_of(pid_t process, const char* name) {
  std::ifstream file("/proc/" + std::to_string(process) + '/' + name);
  return {std::istreambuf_iterator<char>(file), {}};
}

// The rest of the line that begins with the words.
std::string line_of(const std::string& text, const std::string& words) {
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) {
    if (line.starts_with(words)) return line.substr(words.size());
  }
  return "no line begins with " + words;
}

class AtWork : public testing::Test {
 protected:
  void SetUp() override {
    reader_ = *reading::open_odd("", reading::test_isolation());
    ASSERT_EQ(reading::read(*reader_, {"R1\n"}).fault, "");
    process_ = reading::children().at(0).id;
  }
  std::shared_ptr<reading::Reader> reader_;
  pid_t process_ = 0;
};

TEST_F(AtWork, HasNoPrivilegesAndGetsNoneAnew) {
  const std::string status = file_of(process_, "status");
  EXPECT_EQ(line_of(status, "NoNewPrivs:"), "\t1");
  EXPECT_EQ(line_of(status, "Seccomp:"), "\t2");  // a filter
  for (const char* set : {"CapInh:", "CapPrm:", "CapEff:", "CapAmb:"})
    EXPECT_EQ(line_of(status, set), "\t0000000000000000") << set;
}

TEST_F(AtWork, HasLimitsThatItCannotRaise) {
  const std::string limits = file_of(process_, "limits");
  const auto limit = [&](const std::string& name) { return line_of(limits, "Max " + name); };
  EXPECT_THAT(limit("core file size"), MatchesRegex(" +0 +0 +bytes *"));
  EXPECT_THAT(limit("file size"), MatchesRegex(" +0 +0 +bytes *"));
  EXPECT_THAT(limit("processes"), MatchesRegex(" +0 +0 +processes *"));
  EXPECT_THAT(limit("open files"),
              MatchesRegex(kInstrumented ? " +6 +6 +files *" : " +4 +4 +files *"));
  EXPECT_THAT(limit("locked memory"), MatchesRegex(" +0 +0 +bytes *"));
  EXPECT_THAT(limit("stack size"), MatchesRegex(" +8388608 +8388608 +bytes *"));
  EXPECT_THAT(limit("cpu time"), MatchesRegex(" +600 +605 +seconds *"));
  if (kInstrumented) GTEST_SKIP() << "a sanitizer's memory cannot be limited";
  // 256 MiB, and 32 records of 64 bytes.
  EXPECT_THAT(limit("address space"), MatchesRegex(" +268437504 +268437504 +bytes *"));
}

// How a process ends that has entered the first step and then does the deed: its exit code, or
// minus the signal.
int end_of(const std::filesystem::path& folder, const std::function<int()>& deed) {
  const pid_t child = fork();
  if (child == 0) {
    close(reading::wire::kSocket);  // whatever it is: what is forbidden is told there
    const Limits limits{.memory = RLIM_INFINITY, .cpu = std::chrono::seconds(60)};
    _exit(enter_for_loading(limits, folder) ? deed() : 99);
  }
  int status = 0;
  waitpid(child, &status, 0);
  return WIFEXITED(status) ? WEXITSTATUS(status) : -WTERMSIG(status);
}

// 0 when it worked, else errno.
int answer(long result) { return result >= 0 ? 0 : errno; }

int open_to_read(const std::string& path) { return answer(open(path.c_str(), O_RDONLY)); }

class WhileItIsLoaded : public testing::Test {
 protected:
  WhileItIsLoaded() {
    std::string name = testing::TempDir() + "girdle-sandbox-XXXXXX";
    folder_ = mkdtemp(name.data());
    for (const char* sub : {"own", "other"}) {
      std::filesystem::create_directory(folder_ / sub);
      std::ofstream(folder_ / sub / "file") << "x";
    }
  }
  ~WhileItIsLoaded() override { std::filesystem::remove_all(folder_); }

  std::string in(const char* sub) const { return folder_ / sub / "file"; }
  int end(const std::function<int()>& deed) const { return end_of(folder_ / "own", deed); }

  std::filesystem::path folder_;
};

TEST_F(WhileItIsLoaded, ReadsFilesInItsOwnFolderAndNoOthers) {
  EXPECT_EQ(end([&] { return open_to_read(in("own")); }), 0);
  if (syscall(SYS_landlock_create_ruleset, nullptr, 0, LANDLOCK_CREATE_RULESET_VERSION) <= 0)
    GTEST_SKIP() << "this kernel has no Landlock";
  EXPECT_EQ(end([&] { return open_to_read(in("other")); }), EACCES);
  EXPECT_EQ(end([&] { return open_to_read("/etc/passwd"); }), EACCES);
  EXPECT_EQ(end([&] { return open_to_read(in("own") + "/../../other/file"); }), ENOTDIR);
  EXPECT_EQ(end([&] { return open_to_read(folder_ / "own" / ".." / "other" / "file"); }), EACCES);
}

constexpr int kForbidden = 128 + SIGSYS;  // as tell_forbidden ends

TEST_F(WhileItIsLoaded, WritesNoFile) {
  for (const int flags : {O_WRONLY, O_RDWR, O_RDONLY | O_TRUNC, O_WRONLY | O_CREAT}) {
    EXPECT_EQ(end([&] { return answer(open(in("own").c_str(), flags, 0600)); }), kForbidden)
        << flags;
  }
  EXPECT_EQ(end([&] { return answer(unlink(in("own").c_str())); }), kForbidden);
}

TEST_F(WhileItIsLoaded, SetsItsOwnLimitsAndNotThoseOfGirdled) {
  rlimit limit{};
  EXPECT_EQ(end([&] { return answer(prlimit(0, RLIMIT_NOFILE, nullptr, &limit)); }), 0);
  EXPECT_EQ(end([&] { return answer(prlimit(getppid(), RLIMIT_NOFILE, nullptr, &limit)); }), EPERM);
}

TEST_F(WhileItIsLoaded, KeepsWhatItGaveUp) {
  EXPECT_EQ(end([] { return answer(prctl(PR_SET_DUMPABLE, 1)); }), EPERM);
  EXPECT_EQ(end([] {
              const rlimit more{1 << 20, 1 << 20};
              return answer(setrlimit(RLIMIT_FSIZE, &more));
            }),
            EPERM);
}

}  // namespace
}  // namespace girdle::reader_host
