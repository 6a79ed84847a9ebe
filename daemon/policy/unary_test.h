// One cell of a decision table's input column: S-FEEL unary tests.
//
//   "natural"   2   true   null   required     equal to it; a bare word names another fact
//   date("2026-11-02")   @"P30D"               dates, times, date and times, durations too
//   < 3   >= required   = finding   != "none"  the comparison
//   [1..3]   (1..3)   ]1..3[   [low..high)     a range; ] opens like (, [ closes like )
//   "natural", "simulant", >= 5                any of them
//   not("natural", "simulant")                 none of them
//   -                                          any value
//
// Sources: DMN 1.5 clause 9.2 rules 5-14 and clause 9.4; 10.3.2.10 rule 15 (not); of clause 10 also
// unary = and !=, null, and the order of strings. Values are immutable; any thread.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "policy/cell_scanner.h"
#include "policy/truth.h"
#include "policy/value.h"

namespace girdle::policy {

struct Comparison {
  enum class Kind : uint8_t { kEqual, kNotEqual, kLess, kAtMost, kMore, kAtLeast, kWithin };
  Kind kind = Kind::kEqual;
  bool low_open = false, high_open = false;  // kWithin: the end itself does not belong to it
  Operand low = {};                          // the only operand, unless kWithin
  Operand high = {};

  bool is_equality() const { return kind == Kind::kEqual || kind == Kind::kNotEqual; }
  Truth evaluate(const Value& input, std::span<const Value> facts) const {
    if (kind == Kind::kEqual) return equals(input, low.value(facts));
    return evaluate_order(input, facts);
  }

 private:
  Truth evaluate_order(const Value& input, std::span<const Value> facts) const;
};

// The sign of a comparison, where one stands next; never kWithin.
std::optional<Comparison::Kind> take_comparison(CellScanner& scanner);

class UnaryTest {
 public:
  // Errors say at which character of the text, and what would be right. Refused although the
  // standard reads them as null: ranges that run backwards or whose ends do not compare (10.3.2.7).
  // `in_scope`: names that may hold blanks and signs, as of CellScanner.
  static base::Result<UnaryTest> parse(std::string_view text,
                                       std::span<const std::string> in_scope = {});

  // `facts` are the values of names(), in that order, until bind() says otherwise; those left out
  // are missing.
  Truth evaluate(const Value& input, std::span<const Value> facts) const {
    return any_ ? Truth::kTrue : evaluate_list(input, facts);
  }
  // The same in the standard's words: satisfied, not satisfied, null.
  std::optional<bool> matches(const Value& input, std::span<const Value> facts = {}) const {
    return as_standard(evaluate(input, facts));
  }

  // The cell is "-".
  bool accepts_anything() const { return any_; }
  bool is_negated() const { return negated_; }
  const std::vector<Comparison>& comparisons() const { return comparisons_; }
  // Facts that the cell consults, each once.
  const std::vector<std::string>& names() const { return names_; }

  // From now on names()[i] is found at facts[places[i]]: many cells share one list of facts.
  void bind(std::span<const int32_t> places);

 private:
  Truth evaluate_list(const Value& input, std::span<const Value> facts) const;

  bool any_ = false;
  bool negated_ = false;
  std::vector<Comparison> comparisons_;
  std::vector<std::string> names_;
};

}  // namespace girdle::policy
