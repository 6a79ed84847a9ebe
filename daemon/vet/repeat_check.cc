// Same bytes, same options: the same, whatever else the process does and wherever it runs.
#include <malloc.h>
#include <unistd.h>

#include <algorithm>
#include <clocale>
#include <cstdlib>
#include <cstring>
#include <thread>

#include "vet/reading_run.h"

namespace girdle::vet {
namespace {

constexpr const char* kPure =
    "what is told depends on bytes and options alone: nothing is read before it is written, no "
    "clock, environment or locale is asked";
constexpr const char* kApart =
    "a library has no writable state outside its readers: no globals, no statics, nothing of a "
    "thread's own";
constexpr size_t kPiece = 7;

// M_PERTURB leaves alone what is small and was used a moment ago.
void fill_free_memory(int filler) {
  constexpr size_t kMost = 1032, kOfEach = 8;
  std::vector<void*> blocks;
  for (size_t size = 24; size <= kMost; size += 16) {
    for (size_t i = 0; i < kOfEach; ++i) {
      blocks.push_back(std::malloc(size));
      std::memset(blocks.back(), filler, size);
    }
  }
  for (void* block : blocks) std::free(block);
}

class RepeatCheck {
 public:
  explicit RepeatCheck(const Bench& bench)
      : bench_(bench), bytes_(bench.sample().bytes), terms_(bench.terms()) {}

  void run() {
    bench_.at("read at once");
    whole_ = read_whole(bench_, terms_, bytes_);
    if (!whole_) return;
    again("read again", kPure);
    in_other_memory();
    elsewhere();
    in_turns();
    on_threads_by_turns();
    side_by_side();
  }

 private:
  void again(const std::string& how, const char* right) {
    bench_.at(how);
    expect_same(bench_, "repeat.records", whole_, read_whole(bench_, terms_, bytes_), right);
  }

  // New memory holds something else each time: who reads it unwritten does not read the same.
  void in_other_memory() {
    for (const int filler : {0x11, 0xEE}) {
      mallopt(M_PERTURB, filler);
      fill_free_memory(filler);
      again("read again, with something else in fresh memory", kPure);
    }
    mallopt(M_PERTURB, 0);
  }

  void elsewhere() {
    setenv("TZ", "Pacific/Chatham", 1);
    setenv("LANG", "de_DE.UTF-8", 1);
    setenv("HOME", "/", 1);
    for (const char* locale : {"de_DE.UTF-8", "fr_FR.UTF-8", "C.UTF-8"})
      if (std::setlocale(LC_ALL, locale)) break;
    if (chdir("/") == 0) again("read again in another folder, zone and locale", kPure);
    std::setlocale(LC_ALL, "C");
  }

  // Another reader of the library has another document at the same time.
  void in_turns() {
    const Sample& other = bench_.samples[(bench_.index + 1) % bench_.samples.size()];
    bench_.at("read in turns with " + other.name);
    Session one(bench_.trial, bench_.loaded, terms_);
    Session two(bench_.trial, bench_.loaded, {.options = other.options});
    bench_.trial.tried();
    size_t at = 0;
    const auto feed = [&](Session& session, std::string_view bytes) {
      if (at < bytes.size() && session.usable()) session.feed(bytes.substr(at, kPiece));
    };
    for (; at < std::max(bytes_.size(), other.bytes.size()); at += kPiece) {
      if (!bench_.trial.time_left()) return;
      feed(one, bytes_);
      feed(two, other.bytes);
    }
    if (one.usable() && one.finish())
      expect_same(bench_, "repeat.in-turns", whole_, one.heard(), kApart);
  }

  // A reader is used by one thread at a time, and not always the same one.
  void on_threads_by_turns() {
    bench_.at("each piece on another thread");
    Session session(bench_.trial, bench_.loaded, terms_);
    bench_.trial.tried();
    const size_t piece = bytes_.size() / 5 + 1;
    for (size_t at = 0; session.usable() && at < bytes_.size(); at += piece)
      std::thread([&] { session.feed(std::string_view(bytes_).substr(at, piece)); }).join();
    if (session.usable() && session.finish())
      expect_same(bench_, "repeat.threads", whole_, session.heard(), kApart);
  }

  void side_by_side() {
    bench_.at("read on two threads at once");
    const auto read = [&] {
      for (int i = 0; i < 20 && bench_.trial.time_left(); ++i)
        expect_same(bench_, "repeat.side-by-side", whole_,
                    read_in_pieces(bench_, terms_, bytes_, every(64, bytes_.size())), kApart);
    };
    std::thread other(read);
    read();
    other.join();
  }

  const Bench& bench_;
  const std::string& bytes_;
  const Terms terms_;
  std::optional<Heard> whole_;
};

}  // namespace

void check_repeat(const Bench& bench) { RepeatCheck(bench).run(); }

}  // namespace girdle::vet
