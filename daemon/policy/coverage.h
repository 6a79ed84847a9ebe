// Which rules of a table match where, and whether some of them match everywhere. Private to policy/.
//
// The facts are split into blocks: a fact that no other is compared with is one by itself, facts
// that are compared with each other are one together. What a rule asks of one block it asks
// whatever the others are, so a rule matches where it matches in every block.
#pragma once

#include <bit>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <string>
#include <unordered_set>
#include <vector>

#include "policy/fact_domain.h"
#include "policy/table.h"

namespace girdle::policy {

// A set of small numbers: rules, or classes of a block.
class BitSet {
 public:
  BitSet() = default;
  explicit BitSet(size_t size, bool all = false) : words_((size + 63) / 64, all ? ~uint64_t{0} : 0) {
    if (all && size % 64 != 0) words_.back() = (uint64_t{1} << (size % 64)) - 1;
  }
  void add(size_t number) { words_[number / 64] |= uint64_t{1} << (number % 64); }
  void remove(size_t number) { words_[number / 64] &= ~(uint64_t{1} << (number % 64)); }
  bool has(size_t number) const { return (words_[number / 64] >> (number % 64) & 1) != 0; }
  bool empty() const;
  bool meets(const BitSet& other) const;
  size_t count_common(const BitSet& other) const;
  BitSet& operator&=(const BitSet& other);
  BitSet& operator|=(const BitSet& other);
  BitSet& operator-=(const BitSet& other);
  friend BitSet operator&(BitSet a, const BitSet& b) { return a &= b; }
  friend BitSet operator-(BitSet a, const BitSet& b) { return a -= b; }
  bool operator==(const BitSet&) const = default;
  size_t hash() const;
  size_t words() const { return words_.size(); }
  // Of a set that is not empty.
  size_t first() const;
  // Ascending.
  template <class Visit>
  void for_each(Visit visit) const {
    for (size_t i = 0; i < words_.size(); ++i) {
      for (uint64_t word = words_[i]; word != 0; word &= word - 1) {
        visit(i * 64 + static_cast<size_t>(std::countr_zero(word)));
      }
    }
  }

 private:
  std::vector<uint64_t> words_;
};

struct BitSetHash {
  size_t operator()(const BitSet& rules) const { return rules.hash(); }
};

// Values of a block's facts for which the same rules match.
struct BlockClass {
  BitSet rules;
  std::vector<Value> example;       // in the order of the block's facts
  std::vector<size_t> places = {};  // of the fact's domain, where the block has one fact
};

struct Block {
  std::vector<size_t> facts;  // places in the table's fact_names()
  std::vector<BlockClass> classes;
};

// A part of all facts: some classes of each block.
using Box = std::vector<std::vector<size_t>>;

// Whether the rules of a set match everywhere in a box. A search decides it, and a sweep shows the
// gaps where there are some: in the table's order, and as large as the table lets them be.
class Coverage {
 public:
  Coverage(const std::vector<Block>& blocks, size_t rules, uint64_t& steps_left)
      : blocks_(blocks), rules_(rules), steps_left_(steps_left) {}

  enum class Answer : uint8_t { kCovered, kGaps, kNotDecided };
  // `within`: the classes of each block that the box has.
  Answer is_covered(const BitSet& active, const Box& within);
  // `gap` gets those of a part without any rule of the set, until it says false.
  Answer ask(const BitSet& active, const Box& within, const std::function<bool(const Box&)>& gap);

 private:
  struct Known {
    BitSet split;  // the blocks that were split already
    BitSet active;
    bool operator==(const Known&) const = default;
  };
  struct Hash {
    size_t operator()(const Known& known) const { return known.active.hash() * 31 + known.split.hash(); }
  };

  Answer sweep(const BitSet& active, const Box& within, const std::function<bool(const Box&)>& gap);
  bool covers(const BitSet& split, const BitSet& active);
  size_t best_to_split(const BitSet& split, const BitSet& active) const;

  const std::vector<Block>& blocks_;
  const size_t rules_;
  uint64_t& steps_left_;
  const Box* within_ = nullptr;
  const std::function<bool(const Box&)>* gap_ = nullptr;
  std::vector<BitSet> matches_all_;  // of each block: rules that match all of it
  std::unordered_set<Known, Hash> covered_;
  Box path_;
  uint64_t visits_since_gap_ = 0;
  bool stopped_ = false;
};

}  // namespace girdle::policy
