// Saved at any place and gone on with by another reader, the same comes out.
#include <random>

#include "vet/reading_run.h"

namespace girdle::vet {
namespace {

constexpr const char* kRight =
    "save has all that is needed to go on at consumed: the header, the line number, where in a "
    "stretch it is";

}  // namespace

void check_resume(const Bench& bench) {
  const Terms terms = bench.terms();
  const std::string& bytes = bench.sample().bytes;
  bench.at("read at once");
  auto whole = read_whole(bench, terms, bytes);
  if (!whole) return;
  forget_layouts(*whole);
  const auto same = [&](const Cuts& cuts) {
    expect_same(bench, "resume.records", whole, read_growing(bench, terms, bytes, cuts), kRight);
  };

  const Cuts all = places(*whole, bytes.size(), 400);
  for (const size_t place : all) {
    if (!bench.trial.time_left()) return;
    bench.at("saved and resumed at " + std::to_string(place));
    same({place});
  }
  // A state that was resumed and saved again before anything came.
  for (size_t i = 0; i < all.size() && bench.trial.time_left(); i += 1 + all.size() / 50) {
    bench.at("saved and resumed twice at " + std::to_string(all[i]));
    same({all[i], all[i]});
  }
  if (bytes.size() <= kSmall / 2) {
    bench.at("saved and resumed after every byte");
    same(every(1, bytes.size()));
  }
}

}  // namespace girdle::vet
