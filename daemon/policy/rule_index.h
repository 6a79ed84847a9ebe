// Which rules of a large table may match some facts: leaves out those of which a cell certainly is
// not satisfied, so that not every rule has to be looked at. What it leaves in is evaluated as
// ever; it changes no decision.
//
// Each indexed column's values are cut into stretches at the ends of its cells, at most
// kMostStretches, and each stretch has one bit a rule. Immutable; any thread.
#pragma once

#include <array>
#include <bit>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "policy/unary_test.h"
#include "policy/value.h"

namespace girdle::policy {

class RuleIndex {
 public:
  static constexpr size_t kLeastRules = 64;  // smaller tables are faster without
  static constexpr size_t kMostColumns = 16;
  static constexpr size_t kMostStretches = 512;

  // A cell that does not accept anything. Lent.
  struct Cell {
    size_t rule = 0, column = 0, fact = 0;
    const UnaryTest* test = nullptr;
  };

  RuleIndex() = default;
  // `types`: of the facts. Columns of numbers and of texts are indexed.
  RuleIndex(size_t rules, std::span<const Cell> cells, std::span<const std::optional<Type>> types);

  // False: every rule has to be looked at.
  bool is_there() const { return !columns_.empty(); }

  // Calls each(rule) for every rule that may match, 0-based, ascending, until it gives false.
  template <class Each>
  void each_candidate(std::span<const Value> facts, Each each) const {
    std::array<const uint64_t*, kMostColumns> rows{};
    size_t count = 0;
    for (const Column& column : columns_) {
      if (const uint64_t* row = row_of(column, facts[column.fact])) rows[count++] = row;
    }
    for (size_t word = 0; word < words_; ++word) {
      uint64_t bits = word + 1 < words_ ? ~uint64_t{0} : last_word_;
      for (size_t i = 0; i < count; ++i) bits &= rows[i][word];
      for (; bits != 0; bits &= bits - 1) {
        if (!each(word * 64 + static_cast<size_t>(std::countr_zero(bits)))) return;
      }
    }
  }

 private:
  struct Column {
    size_t fact = 0;
    // Of the fact's type; the other is empty. Stretch i begins at ends[i - 1], and the first has no
    // beginning.
    std::vector<base::Decimal> numbers;
    std::vector<std::string> texts;
    std::vector<uint64_t> bits;  // words_ for each stretch
  };

  template <class End>
  void add_column(std::span<const Cell> cells, std::vector<End> Column::*ends);
  // Nothing where the value is not of the column's type: then the column leaves nothing out.
  const uint64_t* row_of(const Column& column, const Value& value) const;

  size_t words_ = 0;
  uint64_t last_word_ = 0;
  std::vector<Column> columns_;
};

}  // namespace girdle::policy
