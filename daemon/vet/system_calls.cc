#include "vet/system_calls.h"

#include <fcntl.h>
#include <linux/audit.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <sys/prctl.h>
#include <sys/syscall.h>

#include <cstddef>
#include <string_view>
#include <vector>

#include "reading/system_call.h"

namespace girdle::vet {
namespace {

#if defined(__x86_64__)
constexpr unsigned kArchitecture = AUDIT_ARCH_X86_64;
#elif defined(__aarch64__)
constexpr unsigned kArchitecture = AUDIT_ARCH_AARCH64;
#else
constexpr unsigned kArchitecture = 0;
#endif

// Memory; and what the end of a process takes, an abort among it. The clock is here because on some
// machines our own look at it is a system call.
constexpr int kForMemory[] = {
    SYS_brk,    SYS_mmap,   SYS_munmap,     SYS_mremap,       SYS_madvise,      SYS_mprotect,
    SYS_futex,  SYS_exit,   SYS_exit_group, SYS_rt_sigreturn, SYS_rt_sigaction, SYS_rt_sigprocmask,
    SYS_getpid, SYS_gettid, SYS_tgkill,     SYS_clock_gettime};

constexpr int kForLoading[] = {SYS_read,       SYS_pread64, SYS_close,    SYS_fstat,
                               SYS_newfstatat, SYS_statx,   SYS_lseek,    SYS_faccessat,
                               SYS_readlinkat, SYS_getcwd,
#ifdef SYS_stat
                               SYS_stat,       SYS_access,  SYS_readlink,
#endif
                               SYS_getrandom};

struct Named {
  int number;
  std::string_view words;
};

constexpr Named kNamed[] = {
#ifdef SYS_open
    {SYS_open, "opens a file (open)"},
    {SYS_stat, "looks at a file (stat)"},
    {SYS_access, "looks at a file (access)"},
    {SYS_poll, "waits (poll)"},
    {SYS_fork, "starts a process (fork)"},
    {SYS_vfork, "starts a process (vfork)"},
    {SYS_time, "asks the clock (time)"},
#endif
    {SYS_openat, "opens a file (openat)"},
    {SYS_newfstatat, "looks at a file or a stream (fstat)"},
    {SYS_fstat, "looks at a file or a stream (fstat)"},
    {SYS_faccessat, "looks at a file (access)"},
    {SYS_statx, "looks at a file (statx)"},
    {SYS_write, "writes to a stream (write)"},
    {SYS_writev, "writes to a stream (writev)"},
    {SYS_read, "reads from a stream (read)"},
    {SYS_ioctl, "looks at a stream (ioctl)"},
    {SYS_socket, "opens a socket (socket)"},
    {SYS_connect, "opens a connection (connect)"},
    {SYS_clone, "starts a thread or a process (clone)"},
    {SYS_clone3, "starts a thread or a process (clone)"},
    {SYS_execve, "starts a program (execve)"},
    {SYS_clock_nanosleep, "waits (nanosleep)"},
    {SYS_nanosleep, "waits (nanosleep)"},
    {SYS_ppoll, "waits (poll)"},
    {SYS_gettimeofday, "asks the clock (gettimeofday)"},
    {SYS_getrandom, "asks for random bytes (getrandom)"},
    {SYS_getcwd, "asks for the current folder (getcwd)"},
    {SYS_kill, "sends a signal (kill)"},
};

sock_filter load(size_t offset) {
  return BPF_STMT(BPF_LD | BPF_W | BPF_ABS, static_cast<unsigned>(offset));
}

// Goes on with the next `yes` further on if what was loaded is `value`, else with the next `no`.
sock_filter jump(unsigned value, size_t yes, size_t no) {
  return BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, value, static_cast<unsigned char>(yes),
                  static_cast<unsigned char>(no));
}

// Goes on with the next `yes` further on if one of the bits is set in what was loaded, else with
// the next `no`.
sock_filter jump_if_any(unsigned bits, size_t yes, size_t no) {
  return BPF_JUMP(BPF_JMP | BPF_JSET | BPF_K, bits, static_cast<unsigned char>(yes),
                  static_cast<unsigned char>(no));
}

constexpr sock_filter kAllow = BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ALLOW);
constexpr sock_filter kRefuse = BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_TRAP);

void allow(std::vector<sock_filter>& code, int number) {
  code.push_back(jump(static_cast<unsigned>(number), 0, 1));
  code.push_back(kAllow);
}

// Only where its first argument is that file.
void allow_write(std::vector<sock_filter>& code, int file) {
  code.push_back(jump(SYS_write, 0, 4));
  code.push_back(load(offsetof(seccomp_data, args[0])));
  code.push_back(jump(static_cast<unsigned>(file), 0, 1));
  code.push_back(kAllow);
  code.push_back(kRefuse);
}

// Only for reading.
void allow_open(std::vector<sock_filter>& code) {
  code.push_back(jump(SYS_openat, 0, 4));
  code.push_back(load(offsetof(seccomp_data, args[2])));
  code.push_back(jump_if_any(O_WRONLY | O_RDWR | O_CREAT | O_TRUNC, 1, 0));
  code.push_back(kAllow);
  code.push_back(kRefuse);
}

std::vector<sock_filter> filter(Allowed allowed, int report) {
  std::vector<sock_filter> code;
  code.push_back(load(offsetof(seccomp_data, arch)));
  code.push_back(jump(kArchitecture, 1, 0));
  code.push_back(kAllow);  // another machine: no such words
  code.push_back(load(offsetof(seccomp_data, nr)));
  for (const int number : kForMemory) allow(code, number);
  if (allowed == Allowed::kLoading) {
    for (const int number : kForLoading) allow(code, number);
    allow_open(code);
  }
  allow_write(code, report);
  code.push_back(kRefuse);
  return code;
}

}  // namespace

bool allow_only(Allowed allowed, int report) {
  if (kArchitecture == 0) return false;
  std::vector<sock_filter> code = filter(allowed, report);
  const sock_fprog program{static_cast<unsigned short>(code.size()), code.data()};
  return prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) == 0 &&
         prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &program) == 0;
}

std::string words_of_system_call(int number) {
  // Whoever starts a thread has signals blocked, so nobody told which call it was.
  if (number < 0) number = SYS_clone;
  for (const Named& named : kNamed)
    if (named.number == number) return std::string(named.words);
  return "makes a system call that is none for memory (" +
         reading::name_of_system_call(static_cast<uint32_t>(number)) + ')';
}

}  // namespace girdle::vet
