#include "policy/coverage.h"

#include <algorithm>
#include <optional>
#include <unordered_map>

namespace girdle::policy {
namespace {

// Visits of the sweep without a gap before it asks the search at every branch.
constexpr uint64_t kPatience = 1000;
// Words of bits that one step looks at.
constexpr size_t kWordsOfAStep = 128;

}  // namespace

bool BitSet::empty() const {
  return std::ranges::all_of(words_, [](uint64_t word) { return word == 0; });
}

size_t BitSet::count_common(const BitSet& other) const {
  size_t count = 0;
  for (size_t i = 0; i < words_.size(); ++i) {
    count += static_cast<size_t>(std::popcount(words_[i] & other.words_[i]));
  }
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

size_t BitSet::first() const {
  size_t word = 0;
  while (words_[word] == 0) ++word;
  return word * 64 + static_cast<size_t>(std::countr_zero(words_[word]));
}

BitSet& BitSet::operator|=(const BitSet& other) {
  for (size_t i = 0; i < words_.size(); ++i) words_[i] |= other.words_[i];
  return *this;
}

BitSet& BitSet::operator-=(const BitSet& other) {
  for (size_t i = 0; i < words_.size(); ++i) words_[i] &= ~other.words_[i];
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

namespace {

// Looks for facts that no rule matches, as solvers of clauses do (Davis, Logemann, Loveland,
// Communications of the ACM 5 (1962) 394): a rule is a clause, as the facts have to lie outside it
// in one of the blocks. One that matches all that is left of every block but one is a clause of a
// single literal: what it matches of that block is taken away.
class GapSearch {
 public:
  GapSearch(const std::vector<Block>& blocks, size_t rules, uint64_t& steps_left)
      : blocks_(blocks), none_(rules), steps_left_(steps_left) {}

  // A part without any of the rules; empty where there is none. Nothing where the steps do not
  // suffice.
  std::optional<Box> find(const BitSet& rules, const Box& within);

 private:
  // A part of all facts.
  struct Part {
    std::vector<BitSet> classes;      // of each block
    std::vector<BitSet> matches_all;  // of each block, rules that match all of them
    BitSet rules;                     // that match somewhere in the part
  };
  // Rules of a part by the number of blocks of which they match some classes and not all.
  struct OpenIn {
    BitSet one_or_more, two_or_more, three_or_more;
  };
  enum class Seen : uint8_t { kNoGap, kGap, kOpen };

  // Looked at so many sets of rules.
  void spend(size_t sets) {
    steps_left_ -= std::min<uint64_t>(steps_left_, 1 + sets * none_.words() / kWordsOfAStep);
  }
  Part part_of(const BitSet& rules, const Box& within);
  void look_again(Part& part, size_t block);
  OpenIn open_in(const Part& part);
  Seen narrow(Part& part);
  bool take_away(Part& part, const BitSet& rules, size_t block);
  void split(Part part);
  static Box box_of(const Part& part);

  const std::vector<Block>& blocks_;
  const BitSet none_;
  uint64_t& steps_left_;
  std::vector<Part> to_do_;
};

GapSearch::Part GapSearch::part_of(const BitSet& rules, const Box& within) {
  Part part;
  part.matches_all.assign(blocks_.size(), none_);
  part.rules = rules;
  for (size_t block = 0; block < blocks_.size(); ++block) {
    BitSet& classes = part.classes.emplace_back(blocks_[block].classes.size());
    for (const size_t c : within[block]) classes.add(c);
    look_again(part, block);
  }
  return part;
}

// After a block's classes have become fewer.
void GapSearch::look_again(Part& part, size_t block) {
  BitSet some = none_, all = part.rules;
  size_t classes = 0;
  part.classes[block].for_each([&](size_t c) {
    some |= blocks_[block].classes[c].rules;
    all &= blocks_[block].classes[c].rules;
    ++classes;
  });
  part.rules &= some;
  part.matches_all[block] = std::move(all);
  spend(classes);
}

GapSearch::OpenIn GapSearch::open_in(const Part& part) {
  OpenIn open{none_, none_, none_};
  spend(4 * blocks_.size());
  for (const BitSet& all : part.matches_all) {
    const BitSet here = part.rules - all;
    open.three_or_more |= open.two_or_more & here;
    open.two_or_more |= open.one_or_more & here;
    open.one_or_more |= here;
  }
  return open;
}

GapSearch::Seen GapSearch::narrow(Part& part) {
  while (!part.rules.empty()) {
    const OpenIn open = open_in(part);
    if (!(part.rules - open.one_or_more).empty()) return Seen::kNoGap;
    const BitSet lone = open.one_or_more - open.two_or_more;
    if (lone.empty()) return Seen::kOpen;
    for (size_t block = 0; block < blocks_.size(); ++block) {
      if (!take_away(part, lone - part.matches_all[block], block)) return Seen::kNoGap;
    }
  }
  return Seen::kGap;
}

// False where no class of the block is left.
bool GapSearch::take_away(Part& part, const BitSet& rules, size_t block) {
  if (rules.empty()) return true;
  BitSet left = part.classes[block];
  part.classes[block].for_each([&](size_t c) {
    if (blocks_[block].classes[c].rules.meets(rules)) left.remove(c);
  });
  part.classes[block] = std::move(left);
  look_again(part, block);
  return !part.classes[block].empty();
}

// Into what a rule matches of a block and what it does not: a rule that is open in few blocks, and
// the block where most of those are.
void GapSearch::split(Part part) {
  const OpenIn open = open_in(part);
  BitSet few = open.two_or_more - open.three_or_more;
  if (few.empty()) few = part.rules;
  size_t block = 0;
  for (size_t other = 1; other < blocks_.size(); ++other) {
    const auto closed = [&](size_t at) { return few.count_common(part.matches_all[at]); };
    if (closed(other) < closed(block)) block = other;
  }
  const size_t rule = (few - part.matches_all[block]).first();
  Part inside = part;
  part.classes[block].for_each([&](size_t c) {
    Part& not_in = blocks_[block].classes[c].rules.has(rule) ? part : inside;
    not_in.classes[block].remove(c);
  });
  look_again(part, block);
  look_again(inside, block);
  to_do_.push_back(std::move(inside));
  to_do_.push_back(std::move(part));
}

Box GapSearch::box_of(const Part& part) {
  Box box(part.classes.size());
  for (size_t block = 0; block < box.size(); ++block) {
    part.classes[block].for_each([&](size_t c) { box[block].push_back(c); });
  }
  return box;
}

std::optional<Box> GapSearch::find(const BitSet& rules, const Box& within) {
  const auto is_empty = [](const std::vector<size_t>& classes) { return classes.empty(); };
  if (std::ranges::any_of(within, is_empty)) return Box();
  to_do_.push_back(part_of(rules, within));
  while (!to_do_.empty()) {
    if (steps_left_ == 0) return std::nullopt;
    Part part = std::move(to_do_.back());
    to_do_.pop_back();
    const Seen seen = narrow(part);
    if (seen == Seen::kGap) return box_of(part);
    if (seen == Seen::kOpen) split(std::move(part));
  }
  return Box();
}

}  // namespace

Coverage::Answer Coverage::is_covered(const BitSet& active, const Box& within) {
  const auto gap = GapSearch(blocks_, rules_, steps_left_).find(active, within);
  if (!gap) return Answer::kNotDecided;
  return gap->empty() ? Answer::kCovered : Answer::kGaps;
}

Coverage::Answer Coverage::ask(const BitSet& active, const Box& within,
                               const std::function<bool(const Box&)>& gap) {
  const auto found = GapSearch(blocks_, rules_, steps_left_).find(active, within);
  if (!found) return Answer::kNotDecided;
  if (found->empty()) return Answer::kCovered;
  bool told = false;
  const Answer answer = sweep(active, within, [&](const Box& box) {
    told = true;
    return gap(box);
  });
  // Where the sweep did not get there in time.
  if (!told) gap(*found);
  return answer;
}

Coverage::Answer Coverage::sweep(const BitSet& active, const Box& within,
                                 const std::function<bool(const Box&)>& gap) {
  within_ = &within;
  gap_ = &gap;
  covered_.clear();
  path_ = within;
  visits_since_gap_ = 0;
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
    const size_t passing = active.count_common(matches_all_[block]);
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
    visits_since_gap_ = 0;
    stopped_ = !(*gap_)(path_);
    return false;
  }
  if (covered_.contains({split, active})) return true;
  if (++visits_since_gap_ > kPatience && is_covered(active, path_) == Answer::kCovered) {
    covered_.insert({split, active});
    return true;
  }
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
