#include "policy/coverage.h"

#include <algorithm>
#include <bit>
#include <unordered_map>

namespace girdle::policy {

bool BitSet::empty() const {
  return std::ranges::all_of(words_, [](uint64_t word) { return word == 0; });
}

size_t BitSet::count() const {
  size_t count = 0;
  for (const uint64_t word : words_) count += static_cast<size_t>(std::popcount(word));
  return count;
}

bool BitSet::meets(const BitSet& other) const {
  for (size_t i = 0; i < words_.size(); ++i) {
    if ((words_[i] & other.words_[i]) != 0) return true;
  }
  return false;
}

BitSet& BitSet::operator&=(const BitSet& other) {
  for (size_t i = 0; i < words_.size(); ++i) words_[i] &= other.words_[i];
  return *this;
}

size_t BitSet::hash() const {
  uint64_t hash = 0x9E3779B97F4A7C15;
  for (const uint64_t word : words_) {
    hash ^= word;
    hash *= 0xBF58476D1CE4E5B9;
    hash ^= hash >> 29;
  }
  return static_cast<size_t>(hash);
}

Coverage::Answer Coverage::ask(const BitSet& active, const Box& within,
                               const std::function<bool(const Box&)>& gap) {
  within_ = &within;
  gap_ = &gap;
  covered_.clear();
  path_ = within;
  stopped_ = false;
  matches_all_.assign(blocks_.size(), BitSet(rules_, true));
  for (size_t block = 0; block < blocks_.size(); ++block) {
    for (const size_t c : within[block]) matches_all_[block] &= blocks_[block].classes[c].rules;
  }
  const bool covered = covers(BitSet(blocks_.size()), active);
  if (steps_left_ == 0) return Answer::kNotDecided;
  return covered ? Answer::kCovered : Answer::kGaps;
}

// The block that the fewest rules pass over: in a table that was cut out of the whole, the first
// cut.
size_t Coverage::best_to_split(const BitSet& split, const BitSet& active) const {
  size_t best = blocks_.size(), fewest = SIZE_MAX;
  for (size_t block = 0; block < blocks_.size(); ++block) {
    if (split.has(block)) continue;
    const size_t passing = (active & matches_all_[block]).count();
    if (passing >= fewest) continue;
    fewest = passing;
    best = block;
  }
  return best;
}

bool Coverage::covers(const BitSet& split, const BitSet& active) {
  if (steps_left_ == 0 || stopped_) return false;
  --steps_left_;
  BitSet left = active;
  for (size_t block = 0; block < blocks_.size(); ++block) {
    if (!split.has(block)) left &= matches_all_[block];
  }
  if (!left.empty()) return true;
  if (active.empty()) {
    stopped_ = !(*gap_)(path_);
    return false;
  }
  if (covered_.contains({split, active})) return true;
  const size_t block = best_to_split(split, active);
  BitSet now_split = split;
  now_split.add(block);
  // Classes that leave the same rules are one branch.
  std::unordered_map<BitSet, size_t, BitSetHash> branch_of;
  std::vector<std::vector<size_t>> branches;
  std::vector<const BitSet*> left_in;
  for (const size_t c : (*within_)[block]) {
    const auto [branch, fresh] =
        branch_of.emplace(active & blocks_[block].classes[c].rules, branches.size());
    if (fresh) {
      branches.emplace_back();
      left_in.push_back(&branch->first);
    }
    branches[branch->second].push_back(c);
  }
  bool all = true;
  for (size_t i = 0; i < branches.size(); ++i) {
    path_[block] = std::move(branches[i]);
    all = covers(now_split, *left_in[i]) && all;
  }
  path_[block] = (*within_)[block];
  if (all) covered_.insert({split, active});
  return all;
}

}  // namespace girdle::policy
