// The values that a table tells apart, fact by fact. Private to policy/.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "policy/unary_test.h"
#include "policy/value.h"

namespace girdle::policy {

// Ends of cells cut the values of a fact into places: each end by itself, and the stretches between
// two of them, below the first and above the last. Inside a place every cell of literals says the
// same. A place may have several members: as many as facts are compared with each other, so that
// every order of them occurs.
class FactDomain {
 public:
  struct Member {
    Value value;
    size_t place = 0;
  };

  // What the cells say of the fact.
  struct Use {
    std::optional<Type> type;
    std::vector<Value> ends = {};  // literals, in any order, also twice
    bool is_ordered = false;       // by <, > or a range, and not by = alone
    size_t compared_with = 0;      // facts that it is compared with
    std::vector<const UnaryTest*> allowed = {};  // each has to be met
    bool may_be_missing = true;
    bool is_whole = false;  // numbers without a fraction
  };
  explicit FactDomain(const Use& use);

  const std::vector<Member>& members() const { return members_; }
  // "[500..1000], missing": the places among them, in order; "anything" for all.
  std::string region(const std::vector<bool>& places) const;
  size_t places() const { return labels_.size(); }

 private:
  // For showing: an end, or a stretch between two (one side or both may be open).
  struct Label {
    bool is_point = false;
    bool is_ordered = false;     // it may touch the next one
    std::string text = {};       // a point, or what the place is called by itself
    std::string low = {}, high = {};  // of a stretch; empty = unbounded
    bool has_members = false;         // something there is allowed
  };

  // A point and a stretch beside it; never two kinds, as each begins and ends with a stretch.
  static bool touch(const Label& a, const Label& b) {
    return a.is_ordered && b.is_ordered && a.is_point != b.is_point;
  }
  static std::string text_of(const Label& low, const Label& high);
  void add_point(const Value& value, bool is_ordered, const Use& use);
  void add_members(std::vector<Value> values, Label label, const Use& use);
  void add_kind(const std::vector<Value>& ends, Type type, const Use& use);

  std::vector<Member> members_;
  std::vector<Label> labels_;
};

}  // namespace girdle::policy
