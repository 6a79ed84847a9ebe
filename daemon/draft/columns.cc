#include "draft/columns.h"

#include <algorithm>
#include <unordered_map>

#include "reading/field_values.h"

namespace girdle::draft {
namespace {

// The names of fields, in the order in which they come first, each with its column.
std::unordered_map<std::string_view, size_t> index_of_names(const std::vector<RawRecord>& records) {
  std::unordered_map<std::string_view, size_t> index;
  for (const RawRecord& record : records) {
    for (const auto& [name, text] : record.fields) {
      if (index.size() < kMostColumns) index.emplace(name, index.size());
    }
  }
  return index;
}

std::vector<Column> named_columns(const std::vector<RawRecord>& records) {
  const auto index = index_of_names(records);
  const size_t rows = std::min(records.size(), kMostTexts / std::max<size_t>(1, index.size()));
  std::vector<Column> columns(index.size());
  for (const auto& [name, at] : index) {
    Column& column = columns[at];
    column.name = name;
    column.meanings = meanings_of(name);
    column.texts.resize(rows);
    column.missing = rows;
  }
  for (size_t row = 0; row < rows; ++row) {
    for (const auto& [name, text] : records[row].fields) {
      const auto at = index.find(name);
      if (at == index.end()) continue;
      Column& column = columns[at->second];
      column.texts[row] = reading::without_outer_space(text);
      --column.missing;
      column.empty += column.texts[row].empty();
    }
  }
  return columns;
}

void count_distinct(Column& column) {
  std::unordered_map<std::string_view, size_t> index;
  for (size_t row = 0; row < column.texts.size(); ++row) {
    const std::string_view text = column.texts[row];
    if (text.empty()) continue;
    const auto [at, added] = index.emplace(text, index.size());
    if (at->second >= Column::kMostDistinct) continue;
    if (added) column.distinct.push_back({text, 0, row});
    ++column.distinct[at->second].count;
  }
  column.distinct_count = index.size();
}

void look_at_rise(const std::vector<RawRecord>& records, Column& column) {
  column.are_whole = column.rises = column.rises_by_one = column.filled() > 0;
  int64_t before = -1;  // none: whole numbers without a sign are not less than 0
  for (size_t row = 0; row < column.texts.size(); ++row) {
    const bool other_sample = row > 0 && records[row].sample != records[row - 1].sample;
    if (other_sample) before = -1;
    if (column.texts[row].empty()) continue;
    const auto number = whole_number(column.texts[row]);
    if (!number) {
      column.are_whole = column.rises = column.rises_by_one = false;
      return;
    }
    column.rises = column.rises && *number > before;
    column.rises_by_one = column.rises_by_one && (before < 0 || *number == before + 1);
    before = *number;
  }
}

void look_at_pattern(Column& column) {
  for (const auto& [of, keeps_lengths] :
       {std::pair{&pattern_of, true}, {&short_pattern_of, false}}) {
    std::string common;
    bool same = !column.distinct.empty();
    for (const DistinctText& one : column.distinct) {
      std::string pattern = of(one.text);
      if (common.empty()) common = pattern;
      same = same && pattern == common;
    }
    if (!same) continue;
    column.pattern = keeps_lengths ? common : common + " (of any length)";
    return;
  }
}

bool has_control(std::string_view text) {
  std::string reason;
  return !reading::check_key(text, reason);
}

void look_at_numbers_of(Column& column) {
  column.numbers = look_at_numbers(column.texts);
  if (column.numbers.are_numbers()) return;
  const std::string_view unit = common_unit(column.texts);
  if (unit.empty()) return;
  std::vector<std::string_view> bare;
  for (const std::string_view text : column.texts) bare.push_back(without_unit(text, unit));
  column.numbers = look_at_numbers(bare);
  if (column.numbers.are_numbers()) column.unit = unit;
}

void look_at(const std::vector<RawRecord>& records, Column& column) {
  count_distinct(column);
  look_at_rise(records, column);
  look_at_pattern(column);
  column.has_control = std::any_of(column.distinct.begin(), column.distinct.end(),
                                   [](const DistinctText& one) { return has_control(one.text); });
  look_at_numbers_of(column);
  const bool named = column.meaning("measured_at") + column.meaning("date") +
                         column.meaning("time") + column.meaning("declared_at") >
                     0;
  const Digits digits = named ? Digits::kMayBeTime : Digits::kAreOneNumber;
  column.times = time_forms(column.texts, digits);
  column.clocks =
      clock_forms(column.texts, named && column.meaning("date") == 0 ? Digits::kMayBeTime
                                                                     : Digits::kAreOneNumber);
}

}  // namespace

int Column::meaning(std::string_view field) const {
  for (const NameMeaning& meaning : meanings) {
    if (meaning.field == field) return meaning.strength;
  }
  return 0;
}

std::vector<Column> columns_of(const std::vector<RawRecord>& records) {
  std::vector<Column> columns = named_columns(records);
  for (Column& column : columns) look_at(records, column);
  return columns;
}

std::string pattern_of(std::string_view text) {
  std::string pattern;
  for (const char c : text) {
    if (c >= 'A' && c <= 'Z') {
      pattern += 'A';
    } else if (c >= 'a' && c <= 'z') {
      pattern += 'a';
    } else if (c >= '0' && c <= '9') {
      pattern += '9';
    } else {
      pattern += c;
    }
  }
  return pattern;
}

std::string short_pattern_of(std::string_view text) {
  std::string pattern = pattern_of(text);
  pattern.erase(std::unique(pattern.begin(), pattern.end(),
                            [](char a, char b) { return a == b && (a == '9' || a == 'a'); }),
                pattern.end());
  return pattern;
}

}  // namespace girdle::draft
