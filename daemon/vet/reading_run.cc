#include "vet/reading_run.h"

#include <algorithm>
#include <random>
#include <set>

namespace girdle::vet {
namespace {

// Feeds `bytes` up to each cut in turn, then the rest. False: not to the end.
bool feed_pieces(const Bench& bench, Session& session, std::string_view bytes, const Cuts& cuts) {
  size_t from = 0;
  for (const size_t cut : cuts) {
    if (!session.feed(bytes.substr(from, cut - from)) || !bench.trial.time_left()) return false;
    from = cut;
  }
  return session.feed(bytes.substr(from));
}

}  // namespace

Cuts every(size_t step, size_t size) {
  Cuts cuts;
  for (size_t at = step; at < size; at += step) cuts.push_back(at);
  return cuts;
}

std::optional<Heard> read_in_pieces(const Bench& bench, const Terms& terms, std::string_view bytes,
                                    const Cuts& cuts) {
  Session session(bench.trial, bench.loaded, terms);
  bench.trial.tried();
  if (!session.begun() || !feed_pieces(bench, session, bytes, cuts) || !session.finish())
    return std::nullopt;
  return session.heard();
}

std::optional<Heard> read_growing(const Bench& bench, const Terms& terms, std::string_view bytes,
                                  const Cuts& cuts) {
  bench.trial.tried();
  Heard all;
  std::string state;
  size_t from = 0;  // what the readers so far have done with
  for (size_t i = 0; i <= cuts.size(); ++i) {
    const size_t to = i < cuts.size() ? cuts[i] : bytes.size();
    if (!bench.trial.time_left()) return std::nullopt;
    Session session(bench.trial, bench.loaded, terms, state);
    if (!session.begun() && i == 0) return std::nullopt;
    if (!session.begun()) {
      bench.trial.fault("resume.refused", "refuses its own state: " + session.refusal(),
                        "go on from what save gave, with the same options");
      return std::nullopt;
    }
    if (!session.feed(bytes.substr(from, to - from))) return std::nullopt;
    if (i == cuts.size() && !session.finish()) return std::nullopt;
    state = session.save();
    append(all, session.heard(), from);
    from += session.consumed();
  }
  forget_layouts(all);
  return all;
}

bool expect_same(const Bench& bench, std::string_view rule, const std::optional<Heard>& expected,
                 const std::optional<Heard>& heard, std::string_view right) {
  if (!expected || !heard) return true;  // told, or there was no time
  const auto differs = difference(*expected, *heard);
  if (differs) bench.trial.fault(rule, *differs, right);
  return !differs;
}

Cuts places(const Heard& whole, size_t size, size_t most) {
  if (size <= kSmall) return every(1, size);
  std::set<size_t> chosen;
  std::mt19937_64 random(size);
  const auto choose = [&](uint64_t place) {
    if (place > 0 && place < size) chosen.insert(place);
  };
  // Half of them by chance, for what lies inside of records.
  while (chosen.size() < std::min(most / 2, size / 4)) choose(random() % size);
  const size_t stride = whole.size() / (most / 8 + 1) + 1;
  for (size_t i = 0; i < whole.size(); i += stride) {
    for (const uint64_t place : {whole[i].offset, whole[i].end()})
      for (const int beside : {-1, 0, 1, 2}) choose(place + static_cast<uint64_t>(beside));
  }
  return {chosen.begin(), chosen.end()};
}

}  // namespace girdle::vet
