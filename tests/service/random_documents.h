// Random documents with everything in them: repeats, copies, corrections, two routes, scans, gaps, changing lists.
#pragma once

#include <array>
#include <cstdlib>
#include <random>
#include <set>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include "base/digest.h"
#include "service/recorder.h"

namespace girdle::service {

constexpr int64_t kStart = 1'793'000'000'000;

// Every subject that the documents can speak of.
inline std::set<std::string> random_keys() {
  std::set<std::string> keys;
  for (const char* stock : {"R100", "R101", "R102"}) {
    keys.insert(stock);
    for (const char* position : {"1", "2"}) keys.insert(model::subject_key(stock, position));
  }
  return keys;
}

// Half of them sparse: three instruments, cases months apart. Half crowded: one instrument with two routes, seconds
// apart and mostly without a run, in cases that end within a cycle of each other's records.
class RandomDocuments {
 public:
  explicit RandomDocuments(std::mt19937& random) : random_(random), crowded_(pick(2) == 0) {}

  std::vector<Batch> make() {
    std::vector<model::Reading> readings;
    for (int i = 0, n = 6 + pick(20); i < n; ++i) readings.push_back(reading());
    for (size_t i = 0; i < readings.size();) {
      Batch& batch = add_document();
      for (int k = 0, take = 1 + pick(4); k < take && i < readings.size(); ++k, ++i) {
        model::Reading r = pick(crowded_ ? 3 : 5) == 0 ? one_of(readings) : readings[i];
        r.place = place(k);
        // By mappings with a default, with another one, and without.
        if (r.color.empty() && pick(3) > 0) r.defaults = {"color"}, r.color = pick(2) ? "G" : "K";
        batch.records.readings.push_back(std::move(r));
      }
    }
    for (int i = 0, n = pick(8); i < n; ++i) {
      Batch& batch = add_document();
      for (int k = 0, records = 1 + pick(4); k < records; ++k) batch.records.declarations.push_back(declaration(k));
    }
    for (int i = 0, n = pick(crowded_ ? 10 : 5); i < n; ++i) {
      add_document().records.scans.push_back({pick(2) ? "counter-1" : "counter-2", stock(), position(), moment(), {}});
    }
    return std::move(documents_);
  }

 private:
  static constexpr std::array kInstruments = {"A-0117", "B-0042", "C-0001"};
  static constexpr std::array kIntakes = {"exports", "line", "extra"};
  static constexpr std::array kFindings = {model::Finding::kNatural, model::Finding::kNatural, model::Finding::kSimulant,
                                           model::Finding::kVoid};

  int pick(int n) { return static_cast<int>(random_() % static_cast<unsigned>(n)); }
  template <class List>
  const typename List::value_type& one_of(const List& list) {
    return list[static_cast<size_t>(pick(static_cast<int>(list.size())))];
  }

  std::string stock() { return "R10" + std::to_string(pick(3)); }
  std::string position() { return pick(8) == 0 ? std::to_string(1 + pick(2)) : ""; }
  base::Instant moment() {
    const int64_t span = int64_t{pick(3)} * 35 * 86'400'000;
    return base::from_millis(kStart + span + (crowded_ ? pick(40) * 5'000 : pick(12) * 20'000));
  }
  model::Place place(int k) { return {static_cast<uint64_t>(k) * 100, 100, static_cast<uint32_t>(k + 1)}; }

  model::Reading reading() {
    model::Reading r;
    r.instrument = crowded_ && pick(4) > 0 ? "A-0117" : one_of(kInstruments);
    if (pick(4) > (crowded_ ? 2 : 0)) r.run = pick(2) ? std::to_string(pick(12)) : "x" + std::to_string(pick(4));
    r.measured_at = moment();
    if (pick(3) > 0) r.stock_number = stock();
    if (!r.stock_number.empty()) r.position = position();
    r.finding = one_of(kFindings);
    if (pick(2)) r.carat = base::Decimal(pick(2) == 0 ? 1 : 11);
    if (pick(4) == 0) r.temperature_c = base::Decimal(20 + pick(6));
    if (pick(4) == 0) r.color = "F";
    if (pick(6) == 0) r.subject_kind = pick(2) ? model::SubjectKind::kStone : model::SubjectKind::kPiece;
    if (pick(6) == 0) r.extra = {{"tray", std::to_string(pick(2))}};
    return r;
  }

  model::Declaration declaration(int k) {
    model::Declaration d;
    d.stock_number = stock();
    d.position = position();
    d.identity = pick(2) ? model::Finding::kNatural : model::Finding::kSimulant;
    if (pick(3) == 0) d.carat = base::Decimal(pick(2) ? 1 : 12);
    if (pick(6) == 0) d.subject_kind = model::SubjectKind::kPiece;
    if (pick(4) == 0) d.declared_at = came_at();
    d.place = place(k);
    return d;
  }

  base::Instant came_at() { return base::from_millis(kStart + int64_t{pick(5)} * 20 * 86'400'000 + pick(3)); }

  Batch& add_document() {
    Batch& batch = documents_.emplace_back();
    batch.document.intake = one_of(kIntakes);
    batch.document.name = std::to_string(documents_.size());
    batch.document.digest = base::sha256(batch.document.name);
    batch.document.came_at = came_at();
    return batch;
  }

  std::mt19937& random_;
  const bool crowded_;
  std::vector<Batch> documents_;
};

// From the first to before the second. GIRDLE_ORDER_SEEDS="FIRST END" for a campaign; see tests/CMakeLists.txt.
inline std::pair<unsigned, unsigned> seeds(unsigned end) {
  std::pair<unsigned, unsigned> range(0, end);
  if (const char* given = std::getenv("GIRDLE_ORDER_SEEDS")) std::istringstream(given) >> range.first >> range.second;
  return range;
}

inline std::vector<Batch> random_documents(std::mt19937& random) { return RandomDocuments(random).make(); }

}  // namespace girdle::service
