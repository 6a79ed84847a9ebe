#include "config/problem.h"

#include <algorithm>
#include <map>
#include <tuple>

#include "base/text.h"

namespace girdle::config {

std::string format(const Problem& problem) {
  // Whatever a file's name or a text holds, the problem stays one line.
  constexpr size_t kAll = std::string::npos;
  std::string out = base::excerpt(problem.file, kAll);
  if (problem.mark.line != 0) {
    out += ':';
    out += std::to_string(problem.mark.line);
    out += ':';
    out += std::to_string(problem.mark.column);
  }
  out += ": ";
  out += base::excerpt(problem.text, kAll);
  return out;
}

void put_in_order(Problems& problems, const std::string& first_file) {
  std::map<std::string, size_t> rank{{first_file, 0}};
  for (const Problem& problem : problems) rank.emplace(problem.file, rank.size());
  const auto place = [&](const Problem& problem) {
    return std::tuple(rank.at(problem.file), problem.mark.line, problem.mark.column);
  };
  std::stable_sort(problems.begin(), problems.end(),
                   [&](const Problem& a, const Problem& b) { return place(a) < place(b); });
  Problems once;
  size_t here = 0;  // the first in `once` of the place that is being looked at
  for (Problem& problem : problems) {
    if (here < once.size() && place(once[here]) != place(problem)) here = once.size();
    const auto from = once.begin() + static_cast<std::ptrdiff_t>(here);
    if (std::find(from, once.end(), problem) == once.end()) once.push_back(std::move(problem));
  }
  problems = std::move(once);
}

}  // namespace girdle::config
