// The host says stop: at any record or aside, the reader returns at once and is heard no more.
#include <algorithm>

#include "vet/reading_run.h"

namespace girdle::vet {
namespace {

constexpr girdle_status kOther = 77;  // anything but GIRDLE_OK is a stop

void stop_after(const Bench& bench, uint64_t calls, girdle_status with, size_t piece) {
  Terms terms = bench.terms();
  terms.stop_after = calls;
  terms.stop_with = with;
  bench.at("stopped at record or aside " + std::to_string(calls));
  read_in_pieces(bench, terms, bench.sample().bytes, every(piece, bench.sample().bytes.size()));
}

}  // namespace

void check_stop(const Bench& bench) {
  bench.at("read at once");
  const std::string& bytes = bench.sample().bytes;
  const auto whole = read_whole(bench, bench.terms(), bytes);
  if (!whole) return;
  const uint64_t all = whole->size();
  for (uint64_t calls = 1; calls <= all && bench.trial.time_left(); ++calls) {
    if (calls > 16 && calls < all) calls = all;  // the last one often comes out of finish
    stop_after(bench, calls, GIRDLE_STOP, bytes.size() + 1);
    stop_after(bench, calls, kOther, 64);
  }
}

}  // namespace girdle::vet
