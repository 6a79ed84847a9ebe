// Loaded before the C library: kills the process with SIGKILL just before the DIE_AT-th of its calls that change a file
// or talk to a peer; with 0 or nothing, tells at the end in DIE_AT_COUNT's file how many there were.
#include <dlfcn.h>
#include <fcntl.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <sys/uio.h>
#include <unistd.h>

#include <atomic>

namespace {

std::atomic<long> calls{0};

long die_at() {
  static const long at = [] {
    const char* text = ::getenv("DIE_AT");
    return text == nullptr ? 0L : ::atol(text);
  }();
  return at;
}

void count() {
  if (++calls == die_at()) ::kill(::getpid(), SIGKILL);
}

template <class F>
F* next(const char* name) {
  return reinterpret_cast<F*>(::dlsym(RTLD_NEXT, name));
}

__attribute__((destructor)) void tell() {
  const char* path = ::getenv("DIE_AT_COUNT");
  if (path == nullptr || die_at() != 0) return;
  if (FILE* file = ::fopen(path, "w")) {
    ::fprintf(file, "%ld\n", calls.load());
    ::fclose(file);
  }
}

}  // namespace

// Each: counted, then done by the C library.
#define GIRDLE_COUNTED(type, name, parameters, arguments)          \
  extern "C" type name parameters {                                \
    static const auto real = next<type parameters>(#name);         \
    count();                                                       \
    return real arguments;                                         \
  }

GIRDLE_COUNTED(ssize_t, pwrite64, (int f, const void* b, size_t n, off64_t o), (f, b, n, o))
GIRDLE_COUNTED(ssize_t, pwrite, (int f, const void* b, size_t n, off_t o), (f, b, n, o))
GIRDLE_COUNTED(int, fdatasync, (int f), (f))
GIRDLE_COUNTED(int, fsync, (int f), (f))
GIRDLE_COUNTED(int, ftruncate64, (int f, off64_t n), (f, n))
GIRDLE_COUNTED(int, unlink, (const char* p), (p))
GIRDLE_COUNTED(int, unlinkat, (int f, const char* p, int g), (f, p, g))
GIRDLE_COUNTED(int, renameat2, (int f, const char* p, int g, const char* q, unsigned h), (f, p, g, q, h))
GIRDLE_COUNTED(int, connect, (int s, const sockaddr* a, socklen_t n), (s, a, n))
GIRDLE_COUNTED(ssize_t, sendmsg, (int s, const msghdr* m, int g), (s, m, g))
GIRDLE_COUNTED(ssize_t, send, (int s, const void* b, size_t n, int g), (s, b, n, g))
GIRDLE_COUNTED(ssize_t, recvmsg, (int s, msghdr* m, int g), (s, m, g))
GIRDLE_COUNTED(ssize_t, recv, (int s, void* b, size_t n, int g), (s, b, n, g))
GIRDLE_COUNTED(int, close, (int f), (f))
