// What is wrong in a configuration, where, and what would be right. Plain values.
#pragma once

#include <string>
#include <vector>

#include "model/mapping.h"

namespace girdle::config {

struct Problem {
  std::string file;
  // Line and column are 1-based, the column in characters (not bytes); a line of 0 means the file
  // as a whole.
  model::Mark mark;
  std::string text;

  bool operator==(const Problem& other) const {
    return file == other.file && mark.line == other.mark.line && mark.column == other.mark.column &&
           text == other.text;
  }
};
using Problems = std::vector<Problem>;

// "file:line:column: text", and "file: text" for the file as a whole. Always one line.
std::string format(const Problem& problem);

// In the order of lines and columns within each file, files in the order in which each was first
// named; the same thing said twice (an anchor that was used twice) is said once.
void put_in_order(Problems& problems, const std::string& first_file);

// Where the reading of one file leaves what is wrong with it.
class Report {
 public:
  // Both live longer than the report.
  Report(const std::string& file, Problems& problems) : file_(file), problems_(problems) {}

  void operator()(const model::Mark& mark, std::string text) const {
    problems_.push_back({file_, mark, std::move(text)});
  }
  const std::string& file() const { return file_; }
  // Of all files.
  size_t count() const { return problems_.size(); }

 private:
  const std::string& file_;
  Problems& problems_;
};

}  // namespace girdle::config
