// Changed samples: no crash, no hang, no flood, no breach, and the same however they are cut.
#include <random>

#include "vet/mutation.h"
#include "vet/reading_run.h"

namespace girdle::vet {
namespace {

constexpr uint64_t kMost = 20'000;  // of one sample
constexpr const char* kRight =
    "a document with faults is the same document however it is cut, and saved anywhere";

void look_at(const Bench& bench, uint64_t number) {
  const std::string bytes = changed(bench.samples, bench.index, number);
  std::mt19937_64 random(number);
  Terms terms = bench.terms();
  if (number % 2 == 0) {
    terms.max_record_bytes = 64 + random() % 200;
    terms.max_fields = 1 + random() % 20;
  }
  bench.at("change " + std::to_string(number) + ", read at once");
  auto whole = read_whole(bench, terms, bytes);
  if (!whole) return;
  const size_t size = 1 + random() % 40;
  bench.at("change " + std::to_string(number) + ", fed in pieces of " + std::to_string(size));
  expect_same(bench, "mutations.cuts", whole,
              read_in_pieces(bench, terms, bytes, every(size, bytes.size())), kRight);
  const size_t place = random() % (bytes.size() + 1);
  bench.at("change " + std::to_string(number) + ", saved and resumed at " + std::to_string(place));
  forget_layouts(*whole);
  expect_same(bench, "mutations.resume", whole, read_growing(bench, terms, bytes, {place}), kRight);
}

}  // namespace

void check_mutations(const Bench& bench) {
  for (uint64_t number = 1; number <= kMost && bench.trial.time_left(); ++number) {
    bench.trial.change(number);
    look_at(bench, number);
  }
  bench.trial.change(0);
}

}  // namespace girdle::vet
