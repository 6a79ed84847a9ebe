// Rows of texts in aligned columns, for people.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "cli/commands.h"

namespace girdle::cli {

class TableView {
 public:
  explicit TableView(std::vector<std::string> heads) : heads_(std::move(heads)) {}

  void add(std::vector<std::string> row) { rows_.push_back({std::move(row), {}}); }
  // A line under the row that was added last; broken between words where the screen's width asks for it.
  void add_below(std::string line) { rows_.back().below.push_back(std::move(line)); }
  bool empty() const { return rows_.empty(); }
  // The last column is cut with "…" where the screen's width asks for it; the others never are.
  void print(Screen& screen) const;

 private:
  std::vector<std::string> heads_;
  struct Row {
    std::vector<std::string> cells;
    std::vector<std::string> below;
  };
  std::vector<Row> rows_;
};

// How many columns of a terminal a UTF-8 text takes; one a code point.
size_t display_width(std::string_view text);

// Emphasis, only on a terminal.
std::string bold(const Screen& screen, std::string_view text);
std::string dim(const Screen& screen, std::string_view text);

// A time as people of the site write it: "2026-11-02 11:15:30 +01:00".
std::string local_time(base::Instant instant, const std::string& timezone);

}  // namespace girdle::cli
