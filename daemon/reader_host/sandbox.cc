#include "reader_host/sandbox.h"

#include <fcntl.h>
#include <linux/capability.h>
#include <linux/landlock.h>
#include <signal.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/syscall.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <string>

#include "reader_host/filter.h"
#include "reader_host/sanitizer.h"
#include "reading/wire.h"

namespace girdle::reader_host {
namespace {

using base::Result;
using reading::wire::kSocket;

base::Error cannot(const char* what, int error) {
  return base::environment_error(std::string("girdled-reader-host cannot ") + what + ": " +
                                 base::errno_text(error));
}

constexpr rlim_t kFilesWhileLoading = 64;
constexpr rlim_t kStack = 8 << 20;
constexpr rlim_t kToObeySignal = 5;  // seconds of processor time, until the limit kills

// Never more than there was.
bool limit(__rlimit_resource_t what, rlim_t soft, rlim_t hard) {
  rlimit both{};
  if (getrlimit(what, &both) != 0) return false;
  both.rlim_max = std::min(both.rlim_max, hard);
  both.rlim_cur = std::min(both.rlim_max, soft);
  return setrlimit(what, &both) == 0;
}

Result<void> set_limits(const Limits& limits) {
  const auto cpu = static_cast<rlim_t>(limits.cpu.count());
  const bool all = limit(RLIMIT_CORE, 0, 0) && limit(RLIMIT_FSIZE, 0, 0) &&
                   limit(RLIMIT_NPROC, 0, 0) && limit(RLIMIT_MEMLOCK, 0, 0) &&
                   limit(RLIMIT_MSGQUEUE, 0, 0) && limit(RLIMIT_STACK, kStack, kStack) &&
                   limit(RLIMIT_NOFILE, kFilesWhileLoading, kFilesWhileLoading) &&
                   limit(RLIMIT_CPU, cpu, cpu + kToObeySignal) &&
                   (kInstrumented || limit(RLIMIT_AS, limits.memory, limits.memory));
  if (!all) return cannot("limit itself", errno);
  return {};
}

// For a girdled that runs as root; others have none.
Result<void> drop_capabilities() {
  __user_cap_header_struct head{_LINUX_CAPABILITY_VERSION_3, 0};
  const __user_cap_data_struct none[2] = {};
  if (syscall(SYS_capset, &head, none) != 0) return cannot("give up its privileges", errno);
  return {};
}

// Of a kernel that is newer than the headers.
struct Ruleset {
  uint64_t files = 0;
  uint64_t network = 0;
  uint64_t scoped = 0;
};

constexpr uint64_t bits(unsigned count) { return (uint64_t{1} << count) - 1; }

// All that the kernel's Landlock knows, by its ABI version (Documentation/userspace-api/landlock).
Ruleset all_of(long version) {
  Ruleset all;
  all.files = bits(version >= 5 ? 16 : version >= 3 ? 15 : version >= 2 ? 14 : 13);
  if (version >= 4) all.network = bits(2);
  if (version >= 6) all.scoped = bits(2);
  return all;
}

size_t size_of(long version) { return version >= 6 ? 24 : version >= 4 ? 16 : 8; }

void allow_reading(int rules, const char* path) {
  const int place = open(path, O_PATH | O_CLOEXEC);
  if (place < 0) return;
  landlock_path_beneath_attr beneath{};
  beneath.parent_fd = place;
  beneath.allowed_access = LANDLOCK_ACCESS_FS_READ_FILE;
  syscall(SYS_landlock_add_rule, rules, LANDLOCK_RULE_PATH_BENEATH, &beneath, 0);
  close(place);
}

// Nothing where the kernel has no Landlock: the filter of system calls is there in any case.
Result<void> bar_files(std::initializer_list<const char*> but_reading) {
  const long version =
      syscall(SYS_landlock_create_ruleset, nullptr, 0, LANDLOCK_CREATE_RULESET_VERSION);
  if (version <= 0) return {};
  const Ruleset all = all_of(version);
  const auto rules =
      static_cast<int>(syscall(SYS_landlock_create_ruleset, &all, size_of(version), 0));
  if (rules < 0) return cannot("make rules for files", errno);
  for (const char* path : but_reading) allow_reading(rules, path);
  const bool barred = syscall(SYS_landlock_restrict_self, rules, 0) == 0;
  const int error = errno;
  close(rules);
  if (!barred) return cannot("bar files", error);
  return {};
}

// Only async-signal-safe calls: it runs wherever the reader was.
void tell_forbidden(int, siginfo_t* info, void*) {
  const auto number = static_cast<uint32_t>(info->si_syscall);
  constexpr auto kType = static_cast<uint8_t>(reading::wire::FrameType::kForbidden);
  uint8_t frame[12] = {4, 0, 0, 0, kType};
  for (unsigned i = 0; i < 4; ++i) frame[8 + i] = static_cast<uint8_t>(number >> (8 * i));
  [[maybe_unused]] const ssize_t sent = write(kSocket, frame, sizeof frame);
  _exit(128 + SIGSYS);
}

Result<void> listen_for_forbidden() {
  struct sigaction action {};
  action.sa_sigaction = &tell_forbidden;
  action.sa_flags = SA_SIGINFO;
  if (sigaction(SIGSYS, &action, nullptr) != 0) return cannot("handle a signal", errno);
  return {};
}

// Memory, the socket, standard error, the end of the process; and what is harmless and may or may
// not be asked of the kernel, depending on the machine.
void allow_reading_of_documents(Filter& filter) {
  filter.allow(SYS_read, {{0, UINT32_MAX, kSocket}});
  filter.allow(SYS_write, {{0, ~uint32_t{3}, 0}});
  filter.allow(SYS_writev, {{0, ~uint32_t{3}, 0}});
  filter.allow(SYS_mmap, {{2, PROT_EXEC, 0}, {3, MAP_ANONYMOUS, MAP_ANONYMOUS}});
  filter.allow(SYS_mprotect, {{2, PROT_EXEC, 0}});
  // abort(), and nothing else: whoever is ended by another signal was not so by its own doing.
  filter.allow(SYS_tgkill,
               {{0, UINT32_MAX, static_cast<uint32_t>(getpid())}, {2, UINT32_MAX, SIGABRT}});
  for (const long call :
       {SYS_brk, SYS_munmap, SYS_mremap, SYS_madvise, SYS_futex, SYS_exit, SYS_exit_group,
        SYS_rt_sigreturn, SYS_rt_sigprocmask, SYS_getpid, SYS_gettid, SYS_getrandom,
        SYS_clock_gettime, SYS_gettimeofday, SYS_sched_yield, SYS_restart_syscall}) {
    filter.allow(call);
  }
#ifdef SYS_time
  filter.allow(SYS_time);
#endif
  allow_sanitizer(filter);
}

// Libraries ask these for their own information and do without an answer.
void refuse_questions(Filter& filter) {
  for (const long call : {SYS_fstat,   SYS_newfstatat, SYS_statx,        SYS_ioctl,
                          SYS_fcntl,   SYS_lseek,      SYS_rt_sigaction, SYS_sigaltstack,
                          SYS_uname,   SYS_sysinfo,    SYS_getrusage,    SYS_sched_getaffinity,
                          SYS_getcwd,  SYS_readlinkat, SYS_faccessat,    SYS_getuid,
                          SYS_geteuid, SYS_getgid,     SYS_getegid,      SYS_getppid,
                          SYS_getcpu,  SYS_times,      SYS_prctl,        SYS_prlimit64}) {
    filter.refuse(call);
  }
#ifdef SYS_stat
  for (const long call : {SYS_stat, SYS_lstat, SYS_readlink, SYS_access, SYS_getrlimit}) {
    filter.refuse(call);
  }
#endif
}

// What the loader of libraries needs, and what step two is made of.
void allow_loading(Filter& filter) {
  constexpr uint32_t kWrites = O_ACCMODE | O_CREAT | O_TRUNC;
  filter.allow(SYS_openat, {{2, kWrites, O_RDONLY}});
#ifdef SYS_open
  filter.allow(SYS_open, {{1, kWrites, O_RDONLY}});
#endif
  filter.allow(SYS_prctl, {{0, UINT32_MAX, PR_SET_PDEATHSIG}});
  filter.allow(SYS_prlimit64, {{0, UINT32_MAX, 0}});  // its own limits, and not girdled's
  for (const long call : {SYS_read, SYS_pread64, SYS_close, SYS_fstat, SYS_newfstatat, SYS_statx,
                          SYS_lseek, SYS_mmap, SYS_mprotect, SYS_getcwd, SYS_getppid, SYS_seccomp,
                          SYS_landlock_create_ruleset, SYS_landlock_restrict_self}) {
    filter.allow(call);
  }
#ifdef SYS_stat
  for (const long call : {SYS_stat, SYS_lstat, SYS_setrlimit}) filter.allow(call);
#endif
}

Result<void> install(Filter& filter) {
  if (const int error = filter.install(); error != 0)
    return cannot("filter its system calls, which this kernel or its configuration does not allow",
                  error);
  return {};
}

}  // namespace

bool die_with(int parent) { return prctl(PR_SET_PDEATHSIG, SIGKILL) == 0 && getppid() == parent; }

Result<void> enter_for_loading(const Limits& limits, const std::filesystem::path& folder) {
  if (prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) != 0 || prctl(PR_SET_DUMPABLE, 0) != 0)
    return cannot("give up its privileges", errno);
  if (auto done = listen_for_forbidden(); !done) return done;
  if (auto done = set_limits(limits); !done) return done;
  if (auto done = drop_capabilities(); !done) return done;
  const std::string libraries = folder.string();
  if (auto done = bar_files({libraries.c_str(), "/lib", "/lib64", "/usr/lib", "/usr/lib64",
                             "/usr/local/lib", "/etc/ld.so.cache"});
      !done)
    return done;
  Filter filter;
  allow_reading_of_documents(filter);
  allow_loading(filter);
  refuse_questions(filter);
  return install(filter);
}

Result<void> enter_for_reading(int parent) {
  // Code that ran while it was loaded may have undone it.
  if (!die_with(parent)) return base::environment_error("girdled is gone");
  if (auto done = bar_files({}); !done) return done;
  constexpr rlim_t kDescriptors = kSocket + 1 + kDescriptorsMore;
  if (!limit(RLIMIT_NOFILE, kDescriptors, kDescriptors)) return cannot("limit itself", errno);
  Filter filter;
  allow_reading_of_documents(filter);
  refuse_questions(filter);
  return install(filter);
}

}  // namespace girdle::reader_host
