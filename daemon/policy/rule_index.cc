#include "policy/rule_index.h"

#include <algorithm>
#include <map>
#include <optional>

namespace girdle::policy {
namespace {

// The values that may satisfy a comparison lie in between; nothing: without an end.
template <class End>
struct Reach {
  const End* low = nullptr;
  const End* high = nullptr;
};

template <class End>
const End* literal_of(const Operand& operand) {
  return operand.is_name() ? nullptr : std::get_if<End>(&operand.literal);
}

// Nothing where it cannot be told.
template <class End>
std::optional<Reach<End>> reach_of(const Comparison& comparison) {
  using enum Comparison::Kind;
  const End* low = literal_of<End>(comparison.low);
  if (low == nullptr || comparison.kind == kNotEqual) return std::nullopt;
  switch (comparison.kind) {
    case kEqual:
      return Reach<End>{low, low};
    case kLess:
    case kAtMost:
      return Reach<End>{nullptr, low};
    case kMore:
    case kAtLeast:
      return Reach<End>{low, nullptr};
    case kWithin:
    case kNotEqual:
      break;
  }
  const End* high = literal_of<End>(comparison.high);
  if (high == nullptr) return std::nullopt;
  return Reach<End>{low, high};
}

// Of all comparisons of a cell; empty where one of them cannot be told, or the cell is negated.
template <class End>
std::vector<Reach<End>> reaches_of(const UnaryTest& test) {
  std::vector<Reach<End>> reaches;
  if (test.is_negated()) return reaches;
  for (const Comparison& comparison : test.comparisons()) {
    const auto reach = reach_of<End>(comparison);
    if (!reach) return {};
    reaches.push_back(*reach);
  }
  return reaches;
}

template <class End>
size_t stretch_of(const std::vector<End>& ends, const End& value) {
  return static_cast<size_t>(std::upper_bound(ends.begin(), ends.end(), value) - ends.begin());
}

// At most `most` of them, evenly.
template <class End>
void thin_out(std::vector<End>& ends, size_t most) {
  if (ends.size() <= most) return;
  std::vector<End> kept;
  for (size_t i = 0; i < most; ++i) kept.push_back(std::move(ends[i * ends.size() / most]));
  ends = std::move(kept);
}

}  // namespace

RuleIndex::RuleIndex(size_t rules, std::span<const Cell> cells,
                     std::span<const std::optional<Type>> types) {
  if (rules < kLeastRules) return;
  words_ = (rules + 63) / 64;
  last_word_ = rules % 64 == 0 ? ~uint64_t{0} : (uint64_t{1} << rules % 64) - 1;
  std::map<size_t, std::vector<Cell>> by_column;
  for (const Cell& cell : cells) by_column[cell.column].push_back(cell);
  for (const auto& [column, own] : by_column) {
    if (columns_.size() == kMostColumns) return;
    const std::optional<Type> type = types[own.front().fact];
    if (type == Type::kNumber) add_column(own, &Column::numbers);
    if (type == Type::kString) add_column(own, &Column::texts);
  }
}

template <class End>
void RuleIndex::add_column(std::span<const Cell> cells, std::vector<End> Column::*ends_of) {
  Column column;
  column.fact = cells.front().fact;
  std::vector<End>& ends = column.*ends_of;
  std::vector<std::pair<size_t, std::vector<Reach<End>>>> known;  // by rule
  for (const Cell& cell : cells) {
    auto reaches = reaches_of<End>(*cell.test);
    if (reaches.empty()) continue;
    for (const Reach<End>& reach : reaches) {
      if (reach.low != nullptr) ends.push_back(*reach.low);
      if (reach.high != nullptr) ends.push_back(*reach.high);
    }
    known.emplace_back(cell.rule, std::move(reaches));
  }
  if (known.empty()) return;
  std::sort(ends.begin(), ends.end());
  ends.erase(std::unique(ends.begin(), ends.end()), ends.end());
  thin_out(ends, kMostStretches - 1);
  const size_t stretches = ends.size() + 1;
  column.bits.assign(stretches * words_, ~uint64_t{0});
  for (const auto& [rule, reaches] : known) {
    const uint64_t bit = uint64_t{1} << rule % 64;
    const auto word = [&](size_t stretch) -> uint64_t& {
      return column.bits[stretch * words_ + rule / 64];
    };
    for (size_t i = 0; i < stretches; ++i) word(i) &= ~bit;
    for (const Reach<End>& reach : reaches) {
      const size_t from = reach.low == nullptr ? 0 : stretch_of(ends, *reach.low);
      const size_t to = reach.high == nullptr ? stretches - 1 : stretch_of(ends, *reach.high);
      for (size_t i = from; i <= to; ++i) word(i) |= bit;
    }
  }
  columns_.push_back(std::move(column));
}

const uint64_t* RuleIndex::row_of(const Column& column, const Value& value) const {
  size_t stretch = 0;
  if (const auto* number = std::get_if<base::Decimal>(&value);
      number != nullptr && !column.numbers.empty()) {
    stretch = stretch_of(column.numbers, *number);
  } else if (const auto* text = std::get_if<std::string>(&value);
             text != nullptr && !column.texts.empty()) {
    stretch = stretch_of(column.texts, *text);
  } else {
    return nullptr;
  }
  return column.bits.data() + stretch * words_;
}

}  // namespace girdle::policy
