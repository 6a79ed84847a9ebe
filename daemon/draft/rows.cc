#include "draft/rows.h"

#include <algorithm>

namespace girdle::draft {
namespace {

class RowCutter {
 public:
  RowCutter(std::string_view text, const Dialect& dialect) : rest_(text), dialect_(dialect) {}

  void skip_lines(size_t count) {
    for (; count > 0 && !rest_.empty(); --count) {
      end_line(std::min(rest_.find_first_of("\r\n"), rest_.size()));
    }
  }

  bool next(Row& row) {
    while (!rest_.empty()) {
      const size_t end = std::min(rest_.find_first_of("\r\n"), rest_.size());
      if (end > 0 && (dialect_.comment == '\0' || rest_.front() != dialect_.comment)) break;
      end_line(end);
    }
    if (rest_.empty()) return false;
    row = {};
    row.line = line_;
    row.source = rest_.substr(0, rest_.find_first_of("\r\n"));
    row.cells.emplace_back();
    while (take_cell(row)) row.cells.emplace_back();
    return true;
  }

 private:
  // Past the line end at `at`.
  void end_line(size_t at) {
    rest_.remove_prefix(at);
    if (rest_.empty()) return;
    rest_.remove_prefix(rest_.starts_with("\r\n") ? 2 : 1);
    ++line_;
  }

  // True where another cell follows in this row.
  bool take_cell(Row& row) {
    std::string& cell = row.cells.back();
    if (dialect_.quote != '\0' && !rest_.empty() && rest_.front() == dialect_.quote) {
      take_quoted(row);
    }
    while (!rest_.empty()) {
      const char c = rest_.front();
      if (c == dialect_.delimiter) {
        rest_.remove_prefix(1);
        return true;
      }
      if (c == '\r' || c == '\n') break;
      row.is_broken = row.is_broken || (c == dialect_.quote && c != '\0');
      cell += c;
      rest_.remove_prefix(1);
    }
    if (!rest_.empty()) end_line(0);
    return false;
  }

  void take_quoted(Row& row) {
    std::string& cell = row.cells.back();
    rest_.remove_prefix(1);
    while (!rest_.empty()) {
      const char c = rest_.front();
      const bool escaped = c == dialect_.escape && c != '\0' && rest_.size() > 1 &&
                           (rest_[1] == dialect_.quote || rest_[1] == dialect_.escape);
      const bool doubled = c == dialect_.quote && rest_.size() > 1 && rest_[1] == c;
      if (escaped || doubled) {
        cell += rest_[1];
        rest_.remove_prefix(2);
        continue;
      }
      rest_.remove_prefix(1);
      if (c == dialect_.quote) {
        const bool ends = rest_.empty() || rest_.front() == dialect_.delimiter ||
                          rest_.front() == '\r' || rest_.front() == '\n';
        row.is_broken = row.is_broken || !ends;
        return;
      }
      if (c == '\n' || (c == '\r' && !rest_.starts_with("\n"))) ++line_;
      cell += c;
    }
    row.is_broken = true;
  }

  std::string_view rest_;
  const Dialect dialect_;
  size_t line_ = 1;
};

}  // namespace

std::vector<Row> rows_of(std::string_view text, const Dialect& dialect, size_t first_line) {
  RowCutter cutter(text, dialect);
  cutter.skip_lines(first_line - 1);
  std::vector<Row> rows;
  for (Row row; cutter.next(row);) rows.push_back(row);
  return rows;
}

char said_delimiter(std::string_view text) {
  const std::string_view line = text.substr(0, text.find_first_of("\r\n"));
  return line.size() == 5 && line.starts_with("sep=") ? line.back() : '\0';
}

bool is_figure(std::string_view cell) {
  return cell.find_first_of("0123456789") != cell.npos &&
         cell.find_first_not_of("0123456789.,:/-+ '%") == cell.npos;
}

}  // namespace girdle::draft
