#include "draft/roles.h"

#include <algorithm>
#include <array>
#include <functional>
#include <iterator>

#include "reading/record_fields.h"

namespace girdle::draft {
namespace {

using model::RecordKind;
using Fits = std::function<bool(const Column&)>;

constexpr size_t kMostResultWords = 40;
constexpr size_t kFewWords = 12;  // a manual's list of results is not longer
constexpr size_t kLongestResultWord = 60;
constexpr size_t kLongestName = 400;
constexpr size_t kLeastForWords = 4;  // of fewer records it cannot be said that words come again

bool is_time(const Column& column) { return !column.times.empty(); }
bool has_time_of_day(const Column& column) {
  return is_time(column) && draft::has_time_of_day(column.times.front().form);
}
// 21.5 is a number, and five past nine in the evening only where the name says so.
bool is_clock(const Column& column) {
  const bool plain = !is_time(column) && !column.numbers.are_numbers();
  return !column.clocks.empty() && (plain || column.meaning("time") > 0);
}
bool is_key(const Column& column) { return column.filled() > 0 && !column.has_control; }

// A name of letters and digits together, such as R1042 or A-0117.
bool is_lettered_number(std::string_view text) {
  return text.find_first_of("0123456789") != text.npos && text.find(' ') == text.npos &&
         std::any_of(text.begin(), text.end(), [](char c) { return c >= 'A' && c <= 'Z'; });
}

// Most texts are such names; a stock list may have a few of another form.
bool looks_like_key(const Column& column) {
  const auto named =
      std::count_if(column.distinct.begin(), column.distinct.end(),
                    [](const DistinctText& one) { return is_lettered_number(one.text); });
  return is_key(column) && !is_time(column) && column.clocks.empty() &&
         static_cast<size_t>(named) * 3 >= column.distinct.size() * 2;
}

// A mapping has to name it.
bool can_be_named(const Column& column) {
  return !column.name.empty() && column.name.size() <= kLongestName;
}

bool words_are_short(const Column& column) {
  return std::all_of(column.distinct.begin(), column.distinct.end(),
                     [](const DistinctText& one) { return one.text.size() <= kLongestResultWord; });
}

// A number with a fraction, and no word.
bool is_measured(const Column& column) {
  return column.numbers.are_numbers() && !column.numbers.whole;
}

class RoleFinder {
 public:
  RoleFinder(const std::vector<Column>& columns, size_t records)
      : columns_(columns), records_(records), used_(columns.size()) {}

  // The column whose name says most that it is this field, among those that fit.
  bool by_name(std::string_view field, const Fits& fits, int least_strength = 1) {
    std::vector<size_t> found = matching([&](const Column& column) {
      return column.meaning(field) >= least_strength && fits(column);
    });
    std::stable_sort(found.begin(), found.end(), [&](size_t a, size_t b) {
      return rank(columns_[a], field) > rank(columns_[b], field);
    });
    return give(field, found, true);
  }

  bool by_texts(std::string_view field, const Fits& fits) {
    return give(field, matching(fits), false);
  }

  // A time in one column, or a date in one and a time of day in another.
  bool time(std::string_view field);

  Roles take() {
    for (size_t i = 0; i < columns_.size(); ++i) {
      if (!used_[i]) roles_.left.push_back(i);
    }
    return std::move(roles_);
  }

  size_t records() const { return records_; }
  bool any(const Fits& fits) const { return std::any_of(columns_.begin(), columns_.end(), fits); }
  bool has(std::string_view field) const { return roles_.of.contains(field); }
  Roles& roles() { return roles_; }

 private:
  // Of two columns of one name's strength the one that fits its own best meaning.
  static int rank(const Column& column, std::string_view field) {
    const bool own = !column.meanings.empty() && column.meanings.front().field == field;
    return 2 * column.meaning(field) + (own ? 1 : 0);
  }

  std::vector<size_t> matching(const Fits& fits) const {
    std::vector<size_t> found;
    for (size_t i = 0; i < columns_.size(); ++i) {
      const bool is_free = !used_[i] && can_be_named(columns_[i]) && !has_parts(columns_[i]);
      if (is_free && fits(columns_[i])) found.push_back(i);
    }
    return found;
  }

  // R.4 where R.4.1 is less: the reader astm names components too, and one of them is meant.
  bool has_parts(const Column& column) const {
    const std::string_view name = column.name;
    if (name.size() < 3 || name[1] != '.' || name[0] < 'A' || name[0] > 'Z') return false;
    return any([&](const Column& other) {
      return other.name.starts_with(name) && other.name.substr(name.size()) == ".1" &&
             other.texts != column.texts;
    });
  }

  bool give(std::string_view field, std::vector<size_t> found, bool named) {
    if (found.empty()) return false;
    Role& role = roles_.of[std::string(field)];
    role.columns = {found.front()};
    // What says the same need not be told.
    std::copy_if(found.begin() + 1, found.end(), std::back_inserter(role.others),
                 [&](size_t at) { return columns_[at].texts != columns_[found.front()].texts; });
    role.by_name = named;
    used_[found.front()] = true;
    return true;
  }

  const std::vector<Column>& columns_;
  const size_t records_;
  std::vector<bool> used_;
  Roles roles_;
};

int time_name(const Column& column, std::string_view field) {
  return std::max({column.meaning(field), column.meaning("measured_at"), column.meaning("date"),
                   column.meaning("time")});
}

bool RoleFinder::time(std::string_view field) {
  const auto better = [&](size_t a, size_t b) {
    // One moment for all records is when they were written out, not when they were measured.
    const auto value = [&](const Column& column) {
      return 2 * time_name(column, field) + (column.distinct_count > 1 ? 1 : 0);
    };
    return value(columns_[a]) > value(columns_[b]);
  };
  std::vector<size_t> whole = matching(has_time_of_day);
  std::stable_sort(whole.begin(), whole.end(), better);
  std::vector<size_t> dates =
      matching([](const Column& column) { return is_time(column) && !has_time_of_day(column); });
  std::stable_sort(dates.begin(), dates.end(), better);
  std::vector<size_t> clocks = matching([&](const Column& column) { return is_clock(column); });
  std::stable_sort(clocks.begin(), clocks.end(), [&](size_t a, size_t b) {
    return columns_[a].meaning("time") > columns_[b].meaning("time");
  });
  const bool named = !whole.empty() && time_name(columns_[whole.front()], field) > 1;
  if (!named && !dates.empty() && !clocks.empty() && dates.front() != clocks.front()) {
    Role& role = roles_.of[std::string(field)];
    role.columns = {dates.front(), clocks.front()};
    role.by_name = time_name(columns_[dates.front()], field) > 0;
    role.others = whole;
    used_[dates.front()] = used_[clocks.front()] = true;
    return true;
  }
  whole.insert(whole.end(), dates.begin(), dates.end());
  return !whole.empty() && give(field, whole, time_name(columns_[whole.front()], field) > 0);
}

bool is_number(const Column& column) { return column.numbers.are_numbers(); }
bool is_unique(const Column& column) { return column.distinct_count == column.filled(); }

// Fewer devices than records.
bool may_be_instrument(const Column& column, size_t records) {
  return is_key(column) && !is_time(column) && column.missing + column.empty == 0 &&
         (records < 3 || column.distinct_count * 2 <= records);
}

bool may_be_stock(const Column& column) {
  return is_key(column) && (!is_time(column) || column.meaning("stock_number") > 2);
}

void find_common(RoleFinder& finder) {
  for (const char* field : {"carat", "table_mm", "length_mm", "width_mm", "depth_mm"}) {
    finder.by_name(field, is_number);
  }
  for (const char* field : {"color", "shape"}) finder.by_name(field, is_key, 2);
  if (finder.has("stock_number")) finder.by_name("position", is_key, 3);
}

void find_stock(RoleFinder& finder) {
  if (finder.by_name("stock_number", may_be_stock, 2)) return;
  const size_t records = finder.records();
  const auto many = [&](const Column& column) {
    return looks_like_key(column) && (records == 1 || column.distinct_count > 1);
  };
  if (finder.by_texts("stock_number", many)) return;
  finder.by_name("stock_number", may_be_stock, 1);
}

void find_result(RoleFinder& finder, std::string_view field) {
  const auto fits = [&](const Column& column) {
    return column.filled() > 0 && words_are_short(column) &&
           column.distinct_count <= kMostResultWords && !has_time_of_day(column) &&
           !is_measured(column);
  };
  finder.by_name(field, fits, 2);
}

// Few and short, and one of them comes again.
bool has_words(const Column& column) {
  return !is_time(column) && !is_number(column) && words_are_short(column) &&
         column.distinct_count <= kMostResultWords &&
         column.distinct_count < std::max<size_t>(column.filled(), 2);
}

// Ia, IIb: words that mean nothing else.
bool are_types(const Column& column) {
  return column.distinct_count > 1 &&
         std::all_of(column.distinct.begin(), column.distinct.end(), [](const DistinctText& one) {
           return reading::word_number(reading::Take::kDiamondType, one.text).has_value();
         });
}

// What no name says.
void find_by_texts(RoleFinder& finder) {
  const size_t records = finder.records();
  if (!finder.has("instrument")) {
    const auto constant = [&](const Column& c) {
      return records > 2 && c.distinct_count == 1 && looks_like_key(c) && c.filled() == records;
    };
    finder.by_texts("instrument", constant);
  }
  if (!finder.has("run")) {
    const auto rising = [&](const Column& c) { return records > 2 && c.rises_by_one; };
    finder.by_texts("run", rising);
  }
  if (!finder.has("diamond_type")) finder.by_texts("diamond_type", &are_types);
  // What is named for it and was measured says that no other column is meant.
  const bool is_elsewhere =
      finder.any([](const Column& c) { return c.meaning("finding") > 1 && is_measured(c); });
  if (finder.has("finding") || is_elsewhere) return;
  if (finder.by_name("finding", &has_words) || records < kLeastForWords) return;
  finder.by_texts("finding", [&](const Column& c) {
    const bool are_few = c.distinct_count > 1 && c.distinct_count <= kFewWords;
    return may_be_result(c, records) || (are_few && has_words(c));
  });
}

void find_reading(RoleFinder& finder) {
  const size_t records = finder.records();
  finder.time("measured_at");
  find_result(finder, "finding");
  finder.by_name(
      "instrument", [&](const Column& c) { return may_be_instrument(c, records); }, 2);
  finder.by_name(
      "run", [](const Column& c) { return is_key(c) && c.are_whole && is_unique(c); }, 3);
  find_stock(finder);
  if (!finder.has("run")) finder.by_name("run", is_key, 2);
  find_common(finder);
  for (const char* field : {"confidence", "temperature_c", "humidity_pct"}) {
    finder.by_name(field, is_number);
  }
  for (const char* field : {"diamond_type", "operator", "note"}) {
    finder.by_name(
        field, [](const Column& c) { return c.filled() > 0; }, 2);
  }
  find_by_texts(finder);
}

void find_declaration(RoleFinder& finder) {
  find_result(finder, "identity");
  find_stock(finder);
  if (!finder.has("stock_number")) finder.by_name("stock_number", is_key);
  find_common(finder);
  for (const char* field : {"stones", "value"}) finder.by_name(field, is_number, 2);
  for (const char* field : {"mount", "channel"}) finder.by_name(field, is_key, 2);
  finder.by_name("declared_at", is_time, 2);
}

void find_scan(RoleFinder& finder) {
  finder.time("scanned_at");
  finder.by_name("bench", is_key, 2);
  find_stock(finder);
}

bool any_named(const std::vector<Column>& columns, std::string_view field, int strength) {
  return std::any_of(columns.begin(), columns.end(),
                     [&](const Column& column) { return column.meaning(field) >= strength; });
}

// A stock list has no results and says what stones are; a scanner's lines have little but a key.
RecordKind kind_of(const std::vector<Column>& columns, std::string& why) {
  const bool time = std::any_of(columns.begin(), columns.end(), has_time_of_day) ||
                    std::any_of(columns.begin(), columns.end(), is_clock);
  const bool result = any_named(columns, "finding", 2);
  const bool stock = any_named(columns, "stock_number", 2);
  const bool claims = any_named(columns, "identity", 2) || any_named(columns, "value", 2) ||
                      any_named(columns, "carat", 2) || any_named(columns, "shape", 2);
  if (stock && claims && !result && !time) {
    why = "a list of stock: it says what stones are, and of no measurement";
    return RecordKind::kDeclaration;
  }
  if (stock && time && !result && columns.size() <= 4 && any_named(columns, "bench", 2)) {
    why = "a scanner's lines: a work place, a stock number and a time";
    return RecordKind::kScan;
  }
  return RecordKind::kReading;
}

}  // namespace

bool may_be_result(const Column& column, size_t records) {
  const size_t count = column.distinct_count;
  if (count == 0 || count > kMostResultWords || !words_are_short(column)) return false;
  if (is_time(column) || !column.clocks.empty() || column.rises) return false;
  if (column.numbers.are_numbers() && !column.are_whole) return false;
  return records < kLeastForWords || (count * 2 <= records && count > 1);
}

Roles find_roles(const std::vector<Column>& columns, size_t records,
                 std::optional<RecordKind> wanted) {
  RoleFinder finder(columns, records);
  std::string why;
  const RecordKind kind = wanted ? *wanted : kind_of(columns, why);
  switch (kind) {
    case RecordKind::kReading:
      find_reading(finder);
      break;
    case RecordKind::kDeclaration:
      find_declaration(finder);
      break;
    case RecordKind::kScan:
      find_scan(finder);
      break;
  }
  Roles roles = finder.take();
  roles.record = kind;
  roles.why_record = why;
  return roles;
}

}  // namespace girdle::draft
