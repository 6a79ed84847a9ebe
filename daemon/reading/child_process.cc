#include "reading/child_process.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

extern "C" {
#include <sys/pidfd.h>  // glibc 2.36 does not say there that it is C
}

namespace girdle::reading {
namespace {

using base::environment_error;
using base::Result;

constexpr size_t kReceive = 64 << 10;
constexpr size_t kSaidKept = 1 << 10;
constexpr size_t kSaidLookedAt = 256 << 10;
constexpr size_t kOutgoingKept = 1 << 20;
constexpr std::chrono::milliseconds kLastPatience{1000};  // for a killed process to be gone
// Above what the child gets by number: so that none is overwritten before it is in its place.
constexpr int kLowest = 16;

base::Error cannot(const char* what, int error) {
  return environment_error(std::string("cannot ") + what + ": " + base::errno_text(error));
}

FileDescriptor high(FileDescriptor low) {
  return FileDescriptor(fcntl(low.get(), F_DUPFD_CLOEXEC, kLowest));
}

struct Ends {
  FileDescriptor ours, theirs;
};

Result<Ends> connection() {
  int pair[2];
  if (socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, pair) != 0)
    return cannot("make a socket pair", errno);
  Ends ends{FileDescriptor(pair[0]), high(FileDescriptor(pair[1]))};
  if (ends.theirs.get() < 0) return cannot("make a socket pair", errno);
  return ends;
}

// Neither end blocks: a reader that writes and is not listened to loses what it writes, no more.
Result<Ends> standard_error() {
  int pair[2];
  if (pipe2(pair, O_CLOEXEC | O_NONBLOCK) != 0) return cannot("make a pipe", errno);
  Ends ends{FileDescriptor(pair[0]), high(FileDescriptor(pair[1]))};
  if (ends.theirs.get() < 0) return cannot("make a pipe", errno);
  return ends;
}

class SpawnFiles {
 public:
  SpawnFiles(int socket, int said) {
    posix_spawn_file_actions_init(&actions_);
    posix_spawn_file_actions_addopen(&actions_, STDIN_FILENO, "/dev/null", O_RDWR, 0);
    posix_spawn_file_actions_adddup2(&actions_, STDIN_FILENO, STDOUT_FILENO);
    posix_spawn_file_actions_adddup2(&actions_, said, STDERR_FILENO);
    posix_spawn_file_actions_adddup2(&actions_, socket, wire::kSocket);
    posix_spawn_file_actions_addclosefrom_np(&actions_, wire::kSocket + 1);
  }
  ~SpawnFiles() { posix_spawn_file_actions_destroy(&actions_); }
  const posix_spawn_file_actions_t* get() const { return &actions_; }

 private:
  posix_spawn_file_actions_t actions_;
};

// Signals as a new program expects them, whatever girdled does with its own.
class SpawnSignals {
 public:
  SpawnSignals() {
    posix_spawnattr_init(&attributes_);
    sigset_t none, all;
    sigemptyset(&none);
    sigfillset(&all);
    posix_spawnattr_setsigmask(&attributes_, &none);
    posix_spawnattr_setsigdefault(&attributes_, &all);
    posix_spawnattr_setflags(&attributes_, POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF);
  }
  ~SpawnSignals() { posix_spawnattr_destroy(&attributes_); }
  const posix_spawnattr_t* get() const { return &attributes_; }

 private:
  posix_spawnattr_t attributes_;
};

std::string in_words(const siginfo_t& info) {
  if (info.si_code == CLD_EXITED) {
    return "ended its process (exit code " + std::to_string(info.si_status) + ")";
  }
  if (info.si_status == SIGSYS) return "made a system call that no reader may make";
  const char* const name = sigabbrev_np(info.si_status);
  std::string text = "crashed: its process was ended by signal " + std::to_string(info.si_status);
  if (name != nullptr) text += std::string(" (SIG") + name + ')';
  if (info.si_status == SIGXCPU) text += ", its processor time is used up";
  return text;
}

}  // namespace

FileDescriptor::~FileDescriptor() {
  if (number_ >= 0) ::close(number_);
}

Result<std::unique_ptr<ChildProcess>> ChildProcess::start(const std::filesystem::path& program,
                                                          const std::string& reader) {
  auto socket = connection();
  if (!socket) return socket.error();
  auto said = standard_error();
  if (!said) return said.error();
  const SpawnFiles files(socket->theirs.get(), said->theirs.get());
  const SpawnSignals signals;
  std::string path = program.string(), name = reader, parent = std::to_string(getpid());
  char* const arguments[] = {path.data(), name.data(), parent.data(), nullptr};
  char* const environment[] = {nullptr};
  pid_t id = 0;
  const int error =
      posix_spawn(&id, path.c_str(), files.get(), signals.get(), arguments, environment);
  if (error != 0) return cannot(("start " + path).c_str(), error);
  FileDescriptor end(pidfd_open(id, 0));
  if (end.get() < 0) {
    const int failed = errno;
    ::kill(id, SIGKILL);
    ::waitpid(id, nullptr, 0);
    return cannot("watch a process", failed);
  }
  return std::unique_ptr<ChildProcess>(
      new ChildProcess(id, std::move(socket->ours), std::move(end), std::move(said->ours)));
}

ChildProcess::~ChildProcess() {
  kill();
  ends_within(kLastPatience);
}

void ChildProcess::send() {
  while (has_unsent()) {
    const ssize_t size = ::send(socket_.get(), outgoing_.data() + sent_, outgoing_.size() - sent_,
                                MSG_NOSIGNAL | MSG_DONTWAIT);
    if (size < 0 && errno == EINTR) continue;
    if (size <= 0) return;
    sent_ += static_cast<size_t>(size);
  }
  sent_ = 0;
  if (outgoing_.size() > kOutgoingKept) outgoing_ = std::string();
  outgoing_.clear();
}

ChildProcess::Came ChildProcess::receive(wire::Frames& frames, size_t& size) {
  for (;;) {
    const ssize_t came = ::recv(socket_.get(), frames.room(kReceive), kReceive, MSG_DONTWAIT);
    if (came > 0) {
      size = static_cast<size_t>(came);
      frames.added(size);
      return Came::kBytes;
    }
    if (came < 0 && errno == EINTR) continue;
    if (came < 0 && (errno == EAGAIN || errno == EWOULDBLOCK)) return Came::kNothing;
    return Came::kEnd;
  }
}

void ChildProcess::kill() {
  if (how_it_ended_.empty()) pidfd_send_signal(end_.get(), SIGKILL, nullptr, 0);
}

bool ChildProcess::ends_within(std::chrono::milliseconds time) {
  if (!how_it_ended().empty()) return true;
  pollfd ended{end_.get(), POLLIN, 0};
  ::poll(&ended, 1, static_cast<int>(time.count()));
  return !how_it_ended().empty();
}

const std::string& ChildProcess::how_it_ended() {
  if (!how_it_ended_.empty()) return how_it_ended_;
  siginfo_t info{};
  const int failed = waitid(P_PIDFD, static_cast<id_t>(end_.get()), &info, WEXITED | WNOHANG);
  if (failed != 0 || info.si_pid == 0) return how_it_ended_;
  how_it_ended_ = in_words(info);
  was_killed_ = info.si_code == CLD_KILLED && info.si_status == SIGKILL;
  return how_it_ended_;
}

std::chrono::nanoseconds ChildProcess::processor_time() const {
  clockid_t clock;
  timespec time{};
  if (clock_getcpuclockid(id_, &clock) != 0 || clock_gettime(clock, &time) != 0) return {};
  return std::chrono::seconds(time.tv_sec) + std::chrono::nanoseconds(time.tv_nsec);
}

std::string ChildProcess::take_said() {
  std::string last;
  char bytes[4096];
  for (size_t seen = 0; seen < kSaidLookedAt;) {
    const ssize_t size = ::read(said_.get(), bytes, sizeof bytes);
    if (size < 0 && errno == EINTR) continue;
    if (size <= 0) break;
    seen += static_cast<size_t>(size);
    last.append(bytes, static_cast<size_t>(size));
    if (last.size() > kSaidKept) last.erase(0, last.size() - kSaidKept);
  }
  return last;
}

}  // namespace girdle::reading
