#include "draft/header_look.h"

#include <algorithm>

#include "base/text.h"
#include "draft/column_names.h"
#include "draft/evidence.h"

namespace girdle::draft {
namespace {

// Whether the cells of a column below its first are figures; false where there are none.
bool has_figures_below(const RowShape& shape, size_t column) {
  bool any = false;
  for (const auto& rows : shape.rows) {
    for (size_t i = 1; i < rows.size(); ++i) {
      if (rows[i].cells.size() != shape.width) continue;
      const std::string_view cell = base::trimmed(rows[i].cells[column]);
      if (cell.empty()) continue;
      if (!is_figure(cell)) return false;
      any = true;
    }
  }
  return any;
}

bool is_name(std::string_view cell) {
  const auto meanings = meanings_of(cell);
  return !meanings.empty() && meanings.front().strength > 1;
}

std::string why_names(size_t over_figures, size_t names) {
  std::string why = "no cell of it is a number";
  if (over_figures > 0) {
    why += ", and " + counted(over_figures, "column") + " below it " +
           (over_figures == 1 ? "has" : "have") + " nothing else";
  }
  return names > 0 ? why + "; " + counted(names, "usual name") : why;
}

}  // namespace

HeaderFinding look_at_header(const RowShape& shape) {
  const auto with_rows = std::find_if(shape.rows.begin(), shape.rows.end(),
                                      [](const auto& rows) { return !rows.empty(); });
  if (with_rows == shape.rows.end()) return {};
  const Row& head = with_rows->front();
  size_t figures = 0, names = 0, over_figures = 0;
  for (size_t column = 0; column < head.cells.size(); ++column) {
    const std::string_view cell = base::trimmed(head.cells[column]);
    const bool figure = is_figure(cell);
    names += is_name(cell);
    figures += figure;
    if (column < shape.width && !figure && !cell.empty()) {
      over_figures += has_figures_below(shape, column);
    }
  }
  if (figures == 0 && over_figures + names > 0) {
    return {HeaderLook::kYes, why_names(over_figures, names)};
  }
  if (figures > 0 && names * 2 <= head.cells.size() && over_figures == 0) {
    return {HeaderLook::kNo, "the first row has numbers where the others have them"};
  }
  return {HeaderLook::kUndecided, "the first row may be a record like the others, or names"};
}

}  // namespace girdle::draft
