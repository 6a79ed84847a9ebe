// What a reader costs: memory that it keeps after its end, time and memory for a MiB.
#include <malloc.h>

#include <algorithm>
#include <ctime>

#include "vet/apart.h"
#include "vet/reading_run.h"

namespace girdle::vet {
namespace {

int64_t allocated() {
  const struct mallinfo2 info = mallinfo2();
  return static_cast<int64_t>(info.uordblks) + static_cast<int64_t>(info.hblkhd);
}

// A document read to its end, one that is left in the middle, one that grows, one that is stopped.
void live_once(const Bench& bench) {
  const std::string_view bytes = std::string_view(bench.sample().bytes).substr(0, 64 << 10);
  Terms terms = bench.terms();
  terms.keep = false;
  read_whole(bench, terms, bytes);
  std::string state;
  if (Session session(bench.trial, bench.loaded, terms);
      session.begun() && session.feed(bytes.substr(0, bytes.size() / 2))) {
    state = session.save();
  }
  { const Session session(bench.trial, bench.loaded, terms, state); }
  { const Session session(bench.trial, bench.loaded, terms, "no state"); }
  terms.stop_after = 1;
  read_whole(bench, terms, bytes);
}

constexpr double kSlowest = 2;  // seconds a MiB; common practice, no source
constexpr size_t kLarge = 2 << 20, kMarks = 64;

double seconds() {
  timespec now{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + static_cast<double>(now.tv_nsec) / 1e9;
}

struct Cost {
  std::vector<double> marks;  // seconds, at each kLarge / kMarks bytes or piece
  double all = 0;             // seconds, with finish
  size_t bytes = 0;           // so far there was time
  int64_t memory = 0;         // most bytes held between two feeds
  bool done = false;          // without a breach

  double for_a_mib() const {
    return all * (1 << 20) / static_cast<double>(std::max<size_t>(bytes, 1));
  }
  // The last quarter of the bytes took so many times what the first one took: 1 where the time is
  // proportional, 7 where each feed looks at all that came before it.
  double growth() const {
    const size_t quarter = marks.size() / 4;
    if (quarter == 0) return 1;
    const double first = marks[quarter - 1];
    const double last = marks.back() - marks[marks.size() - 1 - quarter];
    return first > 0 ? last / first : 1;
  }
};

Cost cost_of(const Bench& bench, std::string_view bytes, size_t piece) {
  Terms terms = bench.terms();
  terms.keep = false;
  Cost cost;
  const int64_t before = allocated();
  Session session(bench.trial, bench.loaded, terms);
  bench.trial.tried();
  if (!session.begun()) return cost;
  const double begin = seconds();
  while (cost.bytes < bytes.size() && bench.trial.time_left()) {
    if (!session.feed(bytes.substr(cost.bytes, piece))) return cost;
    cost.bytes += std::min(piece, bytes.size() - cost.bytes);
    if (cost.bytes < (cost.marks.size() + 1) * (kLarge / kMarks)) continue;
    cost.marks.push_back(seconds() - begin);
    cost.memory = std::max(cost.memory, allocated() - before);
  }
  cost.done = session.finish();
  cost.all = seconds() - begin;
  return cost;
}

std::string repeated(const std::string& bytes, size_t size) {
  std::string out;
  while (out.size() < size) out += bytes.empty() ? "x" : bytes;
  out.resize(size);
  return out;
}

// "1.4"
std::string with_a_tenth(double value) {
  const auto tenths = static_cast<int64_t>(value * 10 + 0.5);
  return std::to_string(tenths / 10) + '.' + std::to_string(tenths % 10);
}

Cost look_at_cost(const Bench& bench, std::string_view bytes, size_t piece) {
  constexpr double kWorthALook = 0.1;  // seconds; less is noise
  constexpr double kGrows = 4;
  bench.at("repeated to 2 MiB, fed in pieces of " + std::to_string(piece));
  const Cost cost = cost_of(bench, bytes, piece);
  if (cost.done && cost.all > kWorthALook &&
      (cost.for_a_mib() > kSlowest || cost.growth() > kGrows)) {
    bench.trial.fault(
        "cost.time",
        "takes " + with_a_tenth(cost.all) + " s for " + std::to_string(cost.bytes >> 10) +
            " KiB, and for the last quarter of them " + with_a_tenth(cost.growth()) +
            " times as long as for the first",
        "the time is proportional to the bytes, at most 2 s for a MiB: look at no byte again with "
        "each feed");
  }
  return cost;
}

}  // namespace

void check_leaks(const Bench& bench) {
  constexpr int kWarm = 10, kTimes = 50;
  constexpr int64_t kNoise = 8;  // bytes a time
  if (kSanitized) {
    bench.trial.cannot("this girdled is built with a sanitizer, which counts otherwise");
    return;
  }
  bench.at("begun and ended again and again");
  for (int i = 0; i < kWarm; ++i) live_once(bench);
  const int64_t before = allocated();
  for (int i = 0; i < kTimes; ++i) {
    live_once(bench);
    if (!bench.trial.time_left()) return;
  }
  const int64_t more = allocated() - before;
  if (more > kNoise * kTimes)
    bench.trial.fault("leaks.memory",
                      "leaves " + std::to_string(more / kTimes) +
                          " bytes behind, each time that five of its readers lived and ended",
                      "destroy gives all back, also in the middle of a document; so does create "
                      "where it refuses");
}

void check_cost(const Bench& bench) {
  const std::string bytes = repeated(bench.sample().bytes, kLarge);
  const Cost cost = look_at_cost(bench, bytes, 64 << 10);
  if (cost.done) {
    bench.trial.measure("time for a MiB", static_cast<int64_t>(cost.for_a_mib() * 1e6), "us");
    bench.trial.measure("memory", cost.memory, "bytes");
  }
  look_at_cost(bench, bytes, 64);  // where looking at bytes again and again is dear
}

}  // namespace girdle::vet
