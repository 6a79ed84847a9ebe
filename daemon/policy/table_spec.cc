#include "policy/table_spec.h"

#include <algorithm>

#include "base/text.h"

namespace girdle::policy {

std::optional<std::vector<OutputCell>> output_cells(const TableSpec& spec,
                                                    std::string_view output) {
  const auto at = std::ranges::find(spec.outputs, output, &TableSpec::Output::name);
  if (at == spec.outputs.end()) return std::nullopt;
  const auto column = static_cast<size_t>(at - spec.outputs.begin());
  std::vector<OutputCell> cells;
  if (!at->default_value.empty()) cells.push_back({base::trimmed(at->default_value), at->mark});
  for (const TableSpec::Rule& rule : spec.rules) {
    if (column >= rule.then.size()) continue;
    cells.push_back({base::trimmed(rule.then[column]),
                     column < rule.then_marks.size() ? rule.then_marks[column] : rule.mark});
  }
  return cells;
}

std::optional<std::string_view> text_literal(std::string_view cell) {
  const bool is_quoted = cell.size() >= 2 && cell.front() == '"' && cell.back() == '"';
  if (!is_quoted) return std::nullopt;
  return cell.substr(1, cell.size() - 2);
}

}  // namespace girdle::policy
