#include "draft/fixed_columns.h"

#include <algorithm>
#include <iterator>
#include <set>

#include "base/text.h"
#include "draft/columns.h"
#include "draft/line_pattern.h"
#include "draft/text_lines.h"

namespace girdle::draft {
namespace {

using base::is_digit;

constexpr size_t kLongest = 1'024;
constexpr size_t kLongestBeginning = 16;
constexpr size_t kMostLines = 2'000;  // that are looked at; the trial reads all


// A line as one string a position.
using Cells = std::vector<std::string_view>;

Cells cells_of(std::string_view line, bool count_bytes) {
  Cells cells;
  for (size_t at = 0; at < line.size();) {
    size_t length = 1;
    while (!count_bytes && at + length < line.size() &&
           (static_cast<unsigned char>(line[at + length]) & 0xC0) == 0x80) {
      ++length;
    }
    cells.push_back(line.substr(at, length));
    at += length;
  }
  while (!cells.empty() && cells.back() == " ") cells.pop_back();
  return cells;
}

struct FixedLine {
  std::string_view text;
  Cells cells;  // without blanks at the end
  size_t number = 0;
  size_t length = 0;  // with them
};

bool has_digit(std::string_view text) { return std::any_of(text.begin(), text.end(), &is_digit); }

bool is_filled(const FixedLine& line, size_t position) {
  return position < line.cells.size() && line.cells[position] != " ";
}

bool is_shorter(const FixedLine& a, const FixedLine& b) { return a.cells.size() < b.cells.size(); }

std::string text_at(const FixedLine& line, size_t from, size_t to) {
  std::string text;
  for (size_t i = from; i <= to && i < line.cells.size(); ++i) text += line.cells[i];
  return std::string(base::trimmed(text));
}

class Finder {
 public:
  explicit Finder(bool count_bytes) : count_bytes_(count_bytes) {}

  void add(std::string_view text) {
    size_t number = 0;
    for (std::string_view line : lines_of(text)) {
      ++number;
      while (line.starts_with('\f')) line.remove_prefix(1);
      if (lines_.size() == kMostLines) return;
      if (is_blank(line)) continue;
      if (line.find('\t') != line.npos || line.size() > kLongest) is_unfit_ = true;
      if (is_unfit_) return;
      FixedLine one{line, cells_of(line, count_bytes_), number, 0};
      const size_t blanks = line.size() - std::min(line.size(), line.find_last_not_of(' ') + 1);
      one.length = one.cells.size() + blanks;
      (is_ruler(line) ? rulers_ : lines_).push_back(std::move(one));
    }
  }

  std::optional<FixedShape> shape() {
    if (is_unfit_ || lines_.size() < 2) return std::nullopt;
    take_header();
    drop_titles();
    if (rows_.size() < 2) return std::nullopt;
    find_fields();
    join_words();
    take_back_short_rows();
    if (shape_.fields.size() < 2) return std::nullopt;
    widen();
    name_fields();
    shape_.rows = rows_.size();
    for (const FixedLine& title : titles_) ignore(title.text);
    for (const FixedLine& ruler : rulers_) ignore(ruler.text.substr(0, 3));
    count_short_rows();
    return std::move(shape_);
  }

 private:
  // The first line, where it has no digits and the ones below do.
  void take_header() {
    size_t with_digits = 0;
    for (size_t i = 1; i < lines_.size(); ++i) with_digits += has_digit(lines_[i].text);
    const bool names = lines_.size() > 2 && !has_digit(lines_.front().text) &&
                       with_digits * 5 >= (lines_.size() - 1) * 4;
    rows_.assign(lines_.begin() + (names ? 1 : 0), lines_.end());
    if (!names) return;
    header_ = &lines_.front();
    shape_.header_line = header_->number;
  }

  // Lines much shorter than most: titles, totals.
  void drop_titles() {
    std::vector<size_t> lengths;
    for (const FixedLine& row : rows_) lengths.push_back(row.cells.size());
    std::nth_element(lengths.begin(), lengths.begin() + static_cast<ptrdiff_t>(lengths.size() / 2),
                     lengths.end());
    const size_t usual = lengths[lengths.size() / 2];
    const auto is_title = [&](const FixedLine& row) { return row.cells.size() * 2 < usual; };
    std::copy_if(rows_.begin(), rows_.end(), std::back_inserter(titles_), is_title);
    std::erase_if(rows_, is_title);
  }

  // One blank between two words of a text makes no column: few rows have the second, and the first
  // ends where it happens to.
  void join_words() {
    auto& fields = shape_.fields;
    for (size_t i = 1; i < fields.size();) {
      if (!is_second_word(fields[i - 1], fields[i])) {
        ++i;
        continue;
      }
      fields[i - 1].to = fields[i].to;
      fields.erase(fields.begin() + static_cast<ptrdiff_t>(i));
    }
  }

  bool is_second_word(const FixedField& first, const FixedField& second) const {
    size_t with_first = 0, with_second = 0, up_to_end = 0;
    for (const FixedLine& row : rows_) {
      const bool has_first = !text_at(row, first.from - 1, first.to - 1).empty();
      with_first += has_first;
      up_to_end += has_first && is_filled(row, first.to - 1);
      with_second += !text_at(row, second.from - 1, second.to - 1).empty();
    }
    const bool is_near = second.from == first.to + 2 && with_second * 2 < rows_.size();
    return is_near && (up_to_end < with_first || with_first == with_second);
  }

  // A short line that begins as the rows do is a row of which blanks at the end were left out.
  void take_back_short_rows() {
    if (shape_.fields.empty()) return;
    const FixedField& first = shape_.fields.front();
    const auto beginning = [&](const FixedLine& line) {
      return short_pattern_of(text_at(line, first.from - 1, first.to - 1));
    };
    std::set<std::string> usual;
    for (const FixedLine& row : rows_) usual.insert(beginning(row));
    const auto fits = [&](const FixedLine& line) {
      for (size_t i = 0; i < line.cells.size(); ++i) {
        const bool inside = std::any_of(
            shape_.fields.begin(), shape_.fields.end(),
            [&](const FixedField& field) { return i + 1 >= field.from && i + 1 <= field.to; });
        if (is_filled(line, i) && !inside) return false;
      }
      return usual.contains(beginning(line));
    };
    std::copy_if(titles_.begin(), titles_.end(), std::back_inserter(rows_), fits);
    std::erase_if(titles_, fits);
  }

  void count_short_rows() {
    const FixedField& last = shape_.fields.back();
    const size_t least = last.is_open ? last.from - 1 : last.to;
    shape_.short_rows = static_cast<size_t>(std::count_if(
        rows_.begin(), rows_.end(), [&](const FixedLine& row) { return row.length < least; }));
  }

  void ignore(std::string_view beginning) {
    std::string text(beginning.substr(0, std::min(beginning.size(), kLongestBeginning)));
    const size_t digit = text.find_first_of("0123456789");
    if (digit != text.npos && digit > 2) text.resize(digit);
    while (text.ends_with(' ')) text.pop_back();
    if (text.empty() || !base::is_utf8(text)) return;
    const auto& known = shape_.ignore;
    if (std::find(known.begin(), known.end(), text) == known.end()) shape_.ignore.push_back(text);
  }

  bool is_filled_anywhere(size_t position) const {
    if (header_ != nullptr && is_filled(*header_, position)) return true;
    return std::any_of(rows_.begin(), rows_.end(),
                       [&](const FixedLine& row) { return is_filled(row, position); });
  }

  void find_fields() {
    size_t width = header_ == nullptr ? 0 : header_->cells.size();
    for (const FixedLine& row : rows_) width = std::max(width, row.cells.size());
    bool inside = false;
    size_t gap = 0;
    shape_.narrowest_gap = width;
    for (size_t i = 0; i < width; ++i) {
      const bool filled = is_filled_anywhere(i);
      if (filled && !inside) {
        if (!shape_.fields.empty()) shape_.narrowest_gap = std::min(shape_.narrowest_gap, gap);
        shape_.fields.push_back({{}, i + 1, i + 1, false});
      }
      if (filled) shape_.fields.back().to = i + 1;
      gap = filled ? 0 : gap + 1;
      inside = filled;
    }
    shape_.same_length = std::all_of(rows_.begin(), rows_.end(), [&](const FixedLine& row) {
      return row.cells.size() == rows_.front().cells.size();
    });
  }

  // Values that end at one position: numbers, as printf pads them.
  bool is_right_aligned(const FixedField& field) const {
    bool digits = false, ends_alike = true, begins_alike = true;
    for (const FixedLine& row : rows_) {
      const std::string value = text_at(row, field.from - 1, field.to - 1);
      if (value.empty()) continue;
      digits = digits || is_digit(value.back());
      ends_alike = ends_alike && is_filled(row, field.to - 1);
      begins_alike = begins_alike && is_filled(row, field.from - 1);
    }
    return digits && ends_alike && !begins_alike;
  }

  // The blanks between two fields belong to the one that would grow into them.
  void widen() {
    for (size_t i = 0; i < shape_.fields.size(); ++i) {
      FixedField& field = shape_.fields[i];
      const size_t before = i == 0 ? 0 : shape_.fields[i - 1].to;
      if (is_right_aligned(field)) {
        field.from = before + 1;
      } else if (i > 0 && !is_right_aligned(shape_.fields[i - 1])) {
        shape_.fields[i - 1].to = field.from - 1;
      }
    }
    // Values of the last one may be longer than those seen so far, as its name is.
    const size_t longest = std::max_element(rows_.begin(), rows_.end(), &is_shorter)->cells.size();
    shape_.fields.back().is_open = !shape_.same_length || longest < shape_.fields.back().to;
  }

  void name_fields() {
    if (header_ == nullptr) return;
    for (FixedField& field : shape_.fields) {
      std::string name = text_at(*header_, field.from - 1, field.to - 1);
      std::erase_if(name, [](char c) { return c == ',' || c == ':' || c == ';' || c == '\''; });
      const bool usable = !name.empty() && name != "-" && base::is_utf8(name) &&
                          std::none_of(shape_.fields.begin(), shape_.fields.end(),
                                       [&](const FixedField& other) { return other.name == name; });
      if (usable) field.name = name;
    }
    ignore(header_->text);
  }

  const bool count_bytes_;
  bool is_unfit_ = false;  // a line with tabs, or a very long one
  std::vector<FixedLine> lines_, rows_, titles_, rulers_;
  const FixedLine* header_ = nullptr;
  FixedShape shape_;
};

}  // namespace

std::optional<FixedShape> fixed_shape(const std::vector<std::string>& texts, bool count_bytes) {
  Finder finder(count_bytes);
  for (const std::string& text : texts) finder.add(text);
  return finder.shape();
}

}  // namespace girdle::draft
