#include "draft/delimited_rows.h"

#include <algorithm>
#include <map>

#include "draft/text_lines.h"

namespace girdle::draft {
namespace {

struct Candidate {
  char delimiter;
  double prior;  // common practice: how readily such a file is one of rows
};
constexpr Candidate kCandidates[] = {{',', 1.0}, {';', 1.0}, {'\t', 1.0}, {'|', 1.0},
                                     {'~', 0.7}, {'^', 0.7}, {':', 0.1},  {' ', 0.3}};

// What is looked at to find the dialect; the trial reads all of it.
constexpr size_t kMostLines = 2'000;
constexpr size_t kMostBytes = 512 << 10;  // of each text

// A cell that another delimiter could still take apart says that this one is wrong.
bool is_clean(std::string_view cell, char delimiter) {
  // Several blanks are columns, and not fields that are empty.
  if (delimiter == ' ' && cell.empty()) return false;
  if (is_figure(cell)) return std::count(cell.begin(), cell.end(), ',') < 2;
  for (const char other : {';', '\t', '|'}) {
    if (other != delimiter && cell.find(other) != cell.npos) return false;
  }
  for (size_t at = cell.find(','); at != cell.npos; at = cell.find(',', at + 1)) {
    if (at + 1 < cell.size() && cell[at + 1] != ' ') return false;
  }
  return true;
}

size_t cells_in(std::string_view line, char delimiter) {
  return static_cast<size_t>(std::count(line.begin(), line.end(), delimiter)) + 1;
}

// So many lines of it; of lines that are very long fewer.
std::string_view beginning_of(std::string_view text, size_t lines) {
  if (text.size() > kMostBytes) {
    const size_t end = text.find_last_of("\r\n", kMostBytes);
    text = text.substr(0, end == text.npos ? kMostBytes : end + 1);
  }
  size_t at = 0;
  for (; lines > 0; --lines) {
    at = text.find_first_of("\r\n", at);
    if (at == text.npos) return text;
    at += text.substr(at, 2) == "\r\n" ? 2 : 1;
  }
  return text.substr(0, at);
}

// The width that most rows have, of those above one; of two that are as frequent the greater.
size_t most_frequent(const std::map<size_t, size_t>& widths) {
  size_t best = 1, best_count = 0;
  for (const auto& [width, count] : widths) {
    if (width > 1 && count >= best_count) best = width, best_count = count;
  }
  return best;
}

// By the delimiters in each line, whatever quotes say.
size_t width_of_lines(const std::vector<std::string_view>& texts, char delimiter) {
  std::map<size_t, size_t> widths;
  for (const std::string_view text : texts) {
    for (const std::string_view line : lines_of(text)) {
      if (!is_blank(line)) ++widths[cells_in(line, delimiter)];
    }
  }
  return most_frequent(widths);
}

size_t width_of_rows(const std::vector<std::vector<Row>>& rows) {
  std::map<size_t, size_t> widths;
  for (const auto& of_text : rows) {
    for (const Row& row : of_text) ++widths[row.cells.size()];
  }
  return most_frequent(widths);
}

size_t first_line_with(std::string_view text, char delimiter, size_t width) {
  const auto lines = lines_of(text);
  for (size_t i = 0; i < lines.size(); ++i) {
    if (i == 0 && said_delimiter(lines[i]) != '\0') continue;
    if (cells_in(lines[i], delimiter) >= width) return i + 1;
  }
  return 1;
}

double cleanliness(const RowShape& shape) {
  size_t clean = 0, all = 0;
  for (const auto& rows : shape.rows) {
    for (const Row& row : rows) {
      for (const std::string& cell : row.cells) {
        ++all;
        clean += is_clean(cell, shape.dialect.delimiter);
      }
    }
  }
  return all == 0 ? 0 : static_cast<double>(clean) / static_cast<double>(all);
}

// What comes before the first row that is as wide as most: titles, a letterhead.
size_t drop_titles(size_t width, std::vector<Row>& rows) {
  const auto first = std::find_if(rows.begin(), rows.end(),
                                  [&](const Row& row) { return row.cells.size() >= width; });
  const auto titles = static_cast<size_t>(first - rows.begin());
  if (first == rows.end()) return 0;
  rows.erase(rows.begin(), first);
  return titles;
}

void count_rows(RowShape& shape) {
  shape.width = width_of_rows(shape.rows);
  for (auto& rows : shape.rows) shape.titles += drop_titles(shape.width, rows);
  // A header may be wider than the rows below it, which then leave their last fields out.
  for (const auto& rows : shape.rows) {
    if (rows.size() > 1) {
      shape.width = std::max(shape.width, rows.front().cells.size());
    }
  }
  size_t single = 0;
  for (const auto& rows : shape.rows) {
    for (const Row& row : rows) {
      const bool fits = row.cells.size() == shape.width && !row.is_broken;
      ++(fits ? shape.fitting : shape.others);
      single += !fits && row.cells.size() == 1 && shape.width > 1;
    }
  }
  // Lines without any delimiter may be titles and totals; they count half.
  const double others = static_cast<double>(shape.others) - static_cast<double>(single) / 2;
  const auto fitting = static_cast<double>(shape.fitting);
  shape.score = fitting + others == 0 ? 0 : fitting / (fitting + others);
}

// From the first line on; or, where a quote in a letterhead would swallow the rest, from the first
// line with as many delimiters as most.
RowShape cut(const std::vector<std::string_view>& texts, const Dialect& dialect, bool by_lines) {
  RowShape shape;
  shape.dialect = dialect;
  const size_t width = by_lines ? width_of_lines(texts, dialect.delimiter) : 1;
  for (const std::string_view text : texts) {
    size_t first = by_lines ? first_line_with(text, dialect.delimiter, width) : 1;
    if (first == 1 && said_delimiter(text) != '\0') first = 2;
    shape.rows.push_back(rows_of(text, dialect, first));
  }
  count_rows(shape);
  return shape;
}

RowShape shape_of(const std::vector<std::string_view>& texts, const Dialect& dialect,
                  double prior) {
  RowShape shape = cut(texts, dialect, false);
  if (shape.others > 0) {
    RowShape other = cut(texts, dialect, true);
    if (other.fitting > shape.fitting) shape = std::move(other);
  }
  const double width = 1 - 1.0 / static_cast<double>(shape.width + 1);
  shape.score *= shape.width < 2 ? 0.01 : prior * cleanliness(shape) * width;
  return shape;
}

bool is_wrapped_in(std::string_view cell, char quote) {
  return cell.size() > 1 && cell.front() == quote && cell.back() == quote;
}

// Which quotes to try with a delimiter.
std::vector<Dialect> dialects_with(const std::vector<std::string_view>& texts, char delimiter) {
  bool any_double = false, any_escaped = false, any_single = false, any_comment = false;
  for (const std::string_view text : texts) {
    any_double = any_double || text.find('"') != text.npos;
    any_escaped = any_escaped || text.find("\\\"") != text.npos;
    any_comment = any_comment || text.starts_with('#') || text.find("\n#") != text.npos ||
                  text.find("\r#") != text.npos;
    for (const Row& row : rows_of(text, {.delimiter = delimiter, .quote = '\0'})) {
      any_single = any_single || std::any_of(row.cells.begin(), row.cells.end(),
                                             [](auto& cell) { return is_wrapped_in(cell, '\''); });
    }
  }
  std::vector<Dialect> dialects = {{.delimiter = delimiter}};
  if (any_escaped) dialects.push_back({.delimiter = delimiter, .escape = '\\'});
  if (any_double) dialects.push_back({.delimiter = delimiter, .quote = '\0'});
  if (any_single && !any_double) dialects.push_back({.delimiter = delimiter, .quote = '\''});
  if (!any_comment) return dialects;
  for (size_t i = 0, count = dialects.size(); i < count; ++i) {
    dialects.push_back(dialects[i]);
    dialects.back().comment = '#';
  }
  return dialects;
}

// The dialect of this delimiter that leaves the fewest rows over; the plain one where all are
// alike, but for single quotes, which are of no use to a reader that does not know them.
RowShape best_with(const std::vector<std::string_view>& texts, const Candidate& candidate) {
  RowShape best;
  bool any = false;
  for (const Dialect& dialect : dialects_with(texts, candidate.delimiter)) {
    RowShape shape = shape_of(texts, dialect, candidate.prior);
    const bool single_quotes = dialect.quote == '\'';
    const bool alike = shape.others == best.others;
    const bool better = shape.others < best.others || (alike && shape.titles < best.titles) ||
                        (alike && single_quotes && shape.width > 1);
    if (any && !better) continue;
    best = std::move(shape);
    any = true;
  }
  return best;
}

}  // namespace

std::vector<RowShape> row_shapes(const std::vector<std::string>& texts, char said) {
  std::vector<std::string_view> beginnings;
  size_t lines = kMostLines;
  for (const std::string& text : texts) {
    beginnings.push_back(beginning_of(text, std::max<size_t>(lines, 5)));
    lines -= std::min(lines, lines_of(beginnings.back()).size());
    if (said == '\0') said = said_delimiter(text);
  }
  std::vector<RowShape> shapes;
  for (const Candidate& candidate : kCandidates) {
    if (said != '\0' && candidate.delimiter != said) continue;
    shapes.push_back(best_with(beginnings, candidate));
  }
  if (shapes.empty()) shapes.push_back(best_with(beginnings, {said, 1.0}));
  std::stable_sort(shapes.begin(), shapes.end(),
                   [](const RowShape& a, const RowShape& b) { return a.score > b.score; });
  if (shapes.front().width < 2) shapes.resize(1);
  std::erase_if(shapes, [&](const RowShape& shape) {
    return shape.width < shapes.front().width && shape.width < 2;
  });
  return shapes;
}

}  // namespace girdle::draft
