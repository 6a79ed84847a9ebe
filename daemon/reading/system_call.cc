#include "reading/system_call.h"

#include <sys/syscall.h>

#include <utility>

namespace girdle::reading {

std::string name_of_system_call(uint32_t number) {
  constexpr std::pair<long, const char*> kNames[] = {
#ifdef SYS_open
      {SYS_open, "open"},
      {SYS_fork, "fork"},
      {SYS_vfork, "vfork"},
      {SYS_unlink, "unlink"},
      {SYS_poll, "poll"},
      {SYS_pipe, "pipe"},
#endif
      {SYS_openat, "openat"},
      {SYS_openat2, "openat2"},
      {SYS_close, "close"},
      {SYS_read, "read"},
      {SYS_write, "write"},
      {SYS_unlinkat, "unlinkat"},
      {SYS_mmap, "mmap"},
      {SYS_mprotect, "mprotect"},
      {SYS_dup, "dup"},
      {SYS_socket, "socket"},
      {SYS_connect, "connect"},
      {SYS_socketpair, "socketpair"},
      {SYS_sendto, "sendto"},
      {SYS_shutdown, "shutdown"},
      {SYS_clone, "clone"},
      {SYS_clone3, "clone3"},
      {SYS_execve, "execve"},
      {SYS_execveat, "execveat"},
      {SYS_kill, "kill"},
      {SYS_tgkill, "tgkill"},
      {SYS_ptrace, "ptrace"},
      {SYS_nanosleep, "nanosleep"},
      {SYS_ppoll, "ppoll"},
      {SYS_pipe2, "pipe2"},
      {SYS_memfd_create, "memfd_create"},
      {SYS_clock_nanosleep, "clock_nanosleep"},
  };
  for (const auto& [known, name] : kNames) {
    if (number == static_cast<uint32_t>(known)) return name;
  }
  return "number " + std::to_string(number);
}

}  // namespace girdle::reading
