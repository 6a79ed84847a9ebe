#include "vet/apart.h"

#include <poll.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <cstdio>
#include <cstring>
#include <ctime>
#include <fstream>
#include <memory>
#include <new>

#include "base/text.h"
#include "vet/system_calls.h"

namespace girdle::vet {
namespace {

using base::environment_error;
using base::errno_text;
using base::Result;
using std::chrono::milliseconds;
using SteadyClock = std::chrono::steady_clock;

constexpr int kSignalEnd = 97;  // exit codes of ours, known by SharedState::signal
constexpr size_t kMostOutput = 2000;
constexpr size_t kStack = 64 << 10;
// A call that waits uses no processor; so long may it take in all.
constexpr int kWaitingFactor = 6;

// The process's memory as others see it, for the handler of signals.
SharedState* seen_by_handler = nullptr;

// Nothing that allocates: the reader may have died in the middle of malloc.
void on_signal(int number, siginfo_t* info, void*) {
  SharedState& shared = *seen_by_handler;
  shared.address = reinterpret_cast<uintptr_t>(info->si_addr);
  if (number == SIGSYS) shared.system_call = info->si_syscall;
  shared.signal = number;
  _exit(kSignalEnd);
}

void catch_signals(SharedState& shared) {
  seen_by_handler = &shared;
  // A stack that overflowed cannot be used. Never freed: the process ends on it.
  const stack_t alternative{.ss_sp = new char[kStack], .ss_flags = 0, .ss_size = kStack};
  sigaltstack(&alternative, nullptr);
  struct sigaction action {};
  action.sa_sigaction = on_signal;
  action.sa_flags = SA_SIGINFO | SA_ONSTACK;
  for (const int number : {SIGSEGV, SIGBUS, SIGFPE, SIGILL, SIGABRT, SIGSYS, SIGTRAP})
    sigaction(number, &action, nullptr);
}

uint64_t address_space() {
  std::ifstream statm("/proc/self/statm");
  uint64_t pages = 0;
  statm >> pages;
  return pages * static_cast<uint64_t>(sysconf(_SC_PAGESIZE));
}

void limit(const Bounds& bounds) {
  const auto set = [](auto what, uint64_t value) {
    const rlimit both{value, value};
    setrlimit(what, &both);
  };
  set(RLIMIT_CORE, 0);
  if (!kSanitized) set(RLIMIT_AS, address_space() + bounds.memory);
}

// A pipe whose ends are closed with it.
class Pipe {
 public:
  bool open() { return ::pipe(ends_) == 0; }
  ~Pipe() {
    close_end(0);
    close_end(1);
  }
  int from() const { return ends_[0]; }
  int to() const { return ends_[1]; }
  void close_end(int end) {
    if (ends_[end] >= 0) ::close(ends_[end]);
    ends_[end] = -1;
  }

 private:
  int ends_[2] = {-1, -1};
};

class SharedMemory {
 public:
  bool open() {
    void* const memory = ::mmap(nullptr, sizeof(SharedState), PROT_READ | PROT_WRITE,
                                MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    if (memory != MAP_FAILED) state_ = new (memory) SharedState;
    return state_ != nullptr;
  }
  ~SharedMemory() {
    if (state_) ::munmap(state_, sizeof(SharedState));
  }
  SharedState& operator*() { return *state_; }

 private:
  SharedState* state_ = nullptr;
};

[[noreturn]] void in_child(const Bounds& bounds, const std::function<void(Trial&)>& body,
                           SharedState& shared, int report, int output) {
  ::prctl(PR_SET_PDEATHSIG, SIGKILL);
  ::setpgid(0, 0);  // so that what the reader starts ends with it
  ::dup2(output, STDOUT_FILENO);
  ::dup2(output, STDERR_FILENO);
  if (!kSanitized) catch_signals(shared);
  limit(bounds);
  // Not destroyed: the reader may have left threads.
  auto* const trial = new Trial(shared, report, bounds.time);
  try {
    body(*trial);
  } catch (const std::bad_alloc&) {
    trial->note("cut short: there was no memory left");
  }
  std::fflush(nullptr);  // what the reader wrote and the system has not heard of yet
  trial->done();
  shared.call = static_cast<int>(Call::kNone);
  _exit(0);
}

// The parent's view of the process.
class Watch {
 public:
  Watch(pid_t child, SharedState& shared, const Bounds& bounds)
      : child_(child), shared_(shared), bounds_(bounds), changed_(SteadyClock::now()) {}

  // In one call of the reader for longer than it may be.
  bool hangs() {
    const uint64_t calls = shared_.calls;
    const milliseconds used = processor_time();
    if (calls != calls_ || shared_.call == static_cast<int>(Call::kNone)) {
      calls_ = calls;
      used_ = used;
      changed_ = SteadyClock::now();
      return false;
    }
    return used - used_ > bounds_.call ||
           SteadyClock::now() - changed_ > kWaitingFactor * bounds_.call;
  }

 private:
  milliseconds processor_time() const {
    clockid_t clock;
    timespec used{};
    if (clock_getcpuclockid(child_, &clock) != 0 || clock_gettime(clock, &used) != 0) return {};
    return milliseconds(used.tv_sec * 1000 + used.tv_nsec / 1'000'000);
  }

  const pid_t child_;
  SharedState& shared_;
  const Bounds& bounds_;
  uint64_t calls_ = 0;
  milliseconds used_{};
  SteadyClock::time_point changed_;
};

bool has_ended(pid_t child) {
  siginfo_t info{};
  return ::waitid(P_PID, static_cast<id_t>(child), &info, WEXITED | WNOHANG | WNOWAIT) == 0 &&
         info.si_pid == child;
}

// Reads both pipes to their ends, or until the process has ended and nothing more comes: what it
// started may hold them open. False: it hangs and was killed.
bool listen(pid_t child, Watch watch, const Pipe& report, const Pipe& output, std::string& told,
            std::string& said) {
  pollfd sources[] = {{report.from(), POLLIN, 0}, {output.from(), POLLIN, 0}};
  std::string* const into[] = {&told, &said};
  bool hung = false;
  char block[4096];
  while (sources[0].fd >= 0 || sources[1].fd >= 0) {
    const int ready = ::poll(sources, 2, 50);
    if ((ready < 0 && errno != EINTR) || (ready == 0 && has_ended(child))) break;
    for (int i = 0; i < 2; ++i) {
      if (sources[i].fd < 0 || sources[i].revents == 0) continue;
      const ssize_t size = ::read(sources[i].fd, block, sizeof block);
      if (size <= 0) sources[i].fd = -1;
      if (size > 0 && (i == 0 || said.size() < kMostOutput))
        into[i]->append(block, static_cast<size_t>(size));
    }
    if (!hung && watch.hangs()) {
      hung = true;
      ::kill(child, SIGKILL);
    }
  }
  return !hung;
}

// The texts of `bytes`: each behind its size. Nothing where they are cut.
std::vector<std::string> texts_of(std::string_view bytes) {
  std::vector<std::string> texts;
  while (bytes.size() >= sizeof(uint32_t)) {
    uint32_t size = 0;
    std::memcpy(&size, bytes.data(), sizeof size);
    bytes.remove_prefix(sizeof size);
    if (size > bytes.size()) break;
    texts.emplace_back(bytes.substr(0, size));
    bytes.remove_prefix(size);
  }
  return texts;
}

void take_messages(const std::string& told, std::vector<Message>& messages) {
  for (const std::string& message : texts_of(told)) {
    if (message.empty()) continue;
    messages.push_back({static_cast<Tell>(message[0]), texts_of(message.substr(1))});
  }
}

Ending::Touched touched(const SharedState& shared, uintptr_t address) {
  const auto page = static_cast<uintptr_t>(sysconf(_SC_PAGESIZE));
  for (const SharedState::Range& range : shared.lent) {
    if (range.end == 0) continue;
    if (address >= range.begin && address < range.end) return Ending::Touched::kAfterwards;
    if (address >= range.end && address < range.end + page) return Ending::Touched::kBehind;
  }
  return Ending::Touched::kNothingLent;
}

void look_at(int status, bool answered, const SharedState& shared, Ending& ending) {
  ending.call = static_cast<Call>(shared.call.load());
  ending.where = shared.where.data();
  ending.change = shared.change;
  ending.signal = shared.signal;
  ending.system_call = shared.system_call;
  ending.address = shared.address;
  if (WIFSIGNALED(status) && ending.signal == 0) ending.signal = WTERMSIG(status);
  if (!answered) {
    ending.how = Ending::How::kHung;
  } else if (ending.signal == SIGSYS) {
    ending.how = Ending::How::kForbidden;
  } else if (WIFSIGNALED(status) || ending.signal != 0) {
    ending.how = Ending::How::kCrashed;
    if (ending.signal == SIGSEGV) ending.touched = touched(shared, ending.address);
  } else if (WEXITSTATUS(status) != 0 || ending.call != Call::kNone) {
    ending.how = Ending::How::kExited;
  }
}

std::string in_call(const Ending& ending) {
  return ending.call == Call::kNone ? std::string() : " in " + std::string(name_of(ending.call));
}

std::string last_words(const Ending& ending) {
  return ending.output.empty() ? std::string()
                               : "; it wrote: " + base::excerpt(base::trimmed(ending.output), 300);
}

EndingWords words_of_crash(const Ending& ending) {
  if (ending.call == Call::kText) {
    return {"text.unreadable", "gives a text whose bytes cannot be read",
            "pointer and size are of memory that lives until emit, aside or save returns"};
  }
  if (ending.touched == Ending::Touched::kBehind) {
    return {
        "lent.behind", "reads beyond what it was lent" + in_call(ending),
        "look at no byte at or behind the size that goes with a pointer; no text ends with NUL"};
  }
  if (ending.touched == Ending::Touched::kAfterwards) {
    return {
        "lent.afterwards", "uses what it was lent for an earlier call" + in_call(ending),
        "copy what is to be kept: fed bytes, options and the saved state go away with the call"};
  }
  const char* const name = sigabbrev_np(ending.signal);
  return {"crash",
          "crashes" + in_call(ending) + " (SIG" + (name ? name : "?") + ")" + last_words(ending),
          ending.call == Call::kLoad
              ? "a library does nothing by being loaded"
              : "whatever the bytes are, give records and asides, or GIRDLE_FAILED"};
}

}  // namespace

std::string_view name_of(Call call) {
  switch (call) {
    case Call::kNone:
      return "no call";
    case Call::kLoad:
      return "loading";
    case Call::kNegotiate:
      return "girdle_reader_negotiate";
    case Call::kDescriptorAt:
      return "girdle_reader_descriptor_at";
    case Call::kCreate:
      return "create";
    case Call::kFeed:
      return "feed";
    case Call::kFinish:
      return "finish";
    case Call::kConsumed:
      return "consumed";
    case Call::kSave:
      return "save";
    case Call::kDestroy:
      return "destroy";
    case Call::kExtension:
      return "extension";
    case Call::kText:
      return "a text that it gave";
  }
  return {};
}

Result<Ending> run_apart(const Bounds& bounds, const std::function<void(Trial&)>& body,
                         std::vector<Message>& messages) {
  SharedMemory shared;
  Pipe report, output;
  if (!shared.open() || !report.open() || !output.open())
    return environment_error("no memory or pipe to vet in: " + errno_text(errno));
  std::fflush(nullptr);  // or the child would have it to write as well
  const pid_t child = ::fork();
  if (child < 0) return environment_error("no process to vet in: " + errno_text(errno));
  if (child == 0) in_child(bounds, body, *shared, report.to(), output.to());
  report.close_end(1);
  output.close_end(1);

  Ending ending;
  std::string told;
  const bool answered =
      listen(child, Watch(child, *shared, bounds), report, output, told, ending.output);
  int status = 0;
  while (::waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  ::kill(-child, SIGKILL);
  take_messages(told, messages);
  look_at(status, answered, *shared, ending);
  return ending;
}

EndingWords words_of(const Ending& ending) {
  switch (ending.how) {
    case Ending::How::kDone:
      break;
    case Ending::How::kCrashed:
      return words_of_crash(ending);
    case Ending::How::kHung:
      return {"hang", "does not come back" + in_call(ending),
              "the time of a call grows with the bytes that it is given, and with nothing else"};
    case Ending::How::kExited:
      return {"exit", "ends the process" + in_call(ending) + last_words(ending),
              "tell what the input causes by aside or refuse, a fault of the reader's own by "
              "GIRDLE_FAILED"};
    case Ending::How::kForbidden:
      return {
          "outside", words_of_system_call(ending.system_call) + in_call(ending),
          "a reader is a pure function of bytes and options: memory is all that it may ask for"};
  }
  return {};
}

}  // namespace girdle::vet
