// What a filter allows, tried in processes of their own. What the actions of a filter do:
// seccomp(2).
#include "reader_host/filter.h"

#include <fcntl.h>
#include <gtest/gtest.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include <functional>

namespace girdle::reader_host {
namespace {

// How a child ends that installs the filter and then makes the call: its exit code, or minus the
// signal.
int end_of(Filter& filter, const std::function<int()>& call) {
  const pid_t child = fork();
  if (child == 0) {
    prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0);
    if (filter.install() != 0) syscall(SYS_exit_group, 99);
    syscall(SYS_exit_group, call());
  }
  int status = 0;
  waitpid(child, &status, 0);
  return WIFEXITED(status) ? WEXITSTATUS(status) : -WTERMSIG(status);
}

Filter ending() {
  Filter filter;
  filter.allow(SYS_exit_group);
  return filter;
}

// 0 when it worked, else errno.
int answer(long result) { return result >= 0 ? 0 : errno; }

TEST(Filter, EndsAProcessThatCallsWhatIsNotAllowed) {
  Filter filter = ending();
  EXPECT_EQ(end_of(filter, [] { return answer(syscall(SYS_getpid)); }), -SIGSYS);
  filter.allow(SYS_getpid);
  EXPECT_EQ(end_of(filter, [] { return answer(syscall(SYS_getpid)); }), 0);
}

TEST(Filter, RefusesWithoutEndingWhatIsToBeRefused) {
  Filter filter = ending();
  filter.refuse(SYS_getpid);
  EXPECT_EQ(end_of(filter, [] { return answer(syscall(SYS_getpid)); }), EPERM);
}

TEST(Filter, LooksAtEveryArgumentThatIsNamed) {
  Filter filter = ending();
  filter.allow(SYS_openat, {{2, O_ACCMODE | O_CREAT, O_RDONLY}, {3, 0xFF, 0x40}});
  const auto open_with = [&](int flags, unsigned mode) {
    return end_of(filter,
                  [=] { return answer(syscall(SYS_openat, AT_FDCWD, "/dev/null", flags, mode)); });
  };
  EXPECT_EQ(open_with(O_RDONLY, 0x40), 0);
  EXPECT_EQ(open_with(O_RDONLY | O_CLOEXEC, 0x140), 0);
  EXPECT_EQ(open_with(O_WRONLY, 0x40), -SIGSYS);
  EXPECT_EQ(open_with(O_RDONLY | O_CREAT, 0x40), -SIGSYS);
  EXPECT_EQ(open_with(O_RDONLY, 0x41), -SIGSYS);
}

TEST(Filter, GoesOnToTheNextPermissionOfTheSameCall) {
  Filter filter = ending();
  filter.allow(SYS_close, {{0, UINT32_MAX, 500}});
  filter.allow(SYS_close, {{0, UINT32_MAX, 501}});
  filter.refuse(SYS_close);
  filter.allow(SYS_getpid);
  for (const auto& [descriptor, error] : {std::pair(500, EBADF), {501, EBADF}, {502, EPERM}}) {
    EXPECT_EQ(end_of(filter, [d = descriptor] { return answer(syscall(SYS_close, d)); }), error);
  }
  EXPECT_EQ(end_of(filter, [] { return answer(syscall(SYS_getpid)); }), 0);
  EXPECT_EQ(end_of(filter, [] { return answer(syscall(SYS_getuid)); }), -SIGSYS);
}

TEST(Filter, CanOnlyBeMadeStricter) {
  Filter strict = ending(), lax = ending();
  strict.allow(SYS_seccomp);
  for (const long call : {SYS_getpid, SYS_seccomp}) lax.allow(call);
  EXPECT_EQ(end_of(strict,
                   [&] {
                     if (lax.install() != 0) return 98;
                     return answer(syscall(SYS_getpid));
                   }),
            -SIGSYS);
}

#if defined(__x86_64__)
// The same numbers with a bit set are another ABI (x32), and int 0x80 is a third: both could be
// taken for calls that are allowed.
TEST(Filter, KnowsOnlyOneAbi) {
  Filter filter = ending();
  filter.allow(SYS_getpid);
  EXPECT_EQ(end_of(filter, [] { return answer(syscall(SYS_getpid | 0x40000000)); }), -SIGSYS);
  EXPECT_EQ(end_of(filter,
                   [] {
                     long result = 20;  // getpid of i386
                     asm volatile("int $0x80" : "+a"(result) : : "memory");
                     return answer(result);
                   }),
            -SIGSYS);
}
#endif

}  // namespace
}  // namespace girdle::reader_host
