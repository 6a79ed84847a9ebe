#include "sheet/merged_cells.h"

#include <algorithm>

#include "sheet/cell_place.h"

namespace girdle::sheet {

std::optional<MergedCells::Area> MergedCells::area_of(std::string_view text) {
  const size_t colon = text.find(':');
  const std::optional<CellPlace> first = cell_place(text.substr(0, colon));
  const std::optional<CellPlace> last =
      colon == std::string_view::npos ? first : cell_place(text.substr(colon + 1));
  if (!first || !last || first->row > last->row || first->column > last->column)
    return std::nullopt;
  return Area{first->row, last->row, first->column, last->column, false, false};
}

std::string MergedCells::text_of(const Area& area) {
  return column_letters(area.first_column) + std::to_string(area.first_row) + ":" +
         column_letters(area.last_column) + std::to_string(area.last_row);
}

bool MergedCells::add(std::string_view text, const std::vector<uint32_t>& named) {
  std::optional<Area> area = area_of(text);
  if (!area || areas_.size() == kMost) return false;
  const auto any_from = [&](uint32_t column) {
    const auto found = std::lower_bound(named.begin(), named.end(), column);
    return found != named.end() && *found <= area->last_column;
  };
  area->matters = any_from(area->first_column);
  area->matters_at_once = any_from(area->first_column + 1);
  if (area->matters) areas_.push_back(*area);
  return true;
}

void MergedCells::sort() {
  std::sort(areas_.begin(), areas_.end(),
            [](const Area& a, const Area& b) { return a.first_row < b.first_row; });
}

std::optional<std::string> MergedCells::covers(uint64_t row) {
  for (; next_ < areas_.size() && areas_[next_].first_row < row; ++next_) {
    const Area& passed = areas_[next_];
    if (longest_ == nullptr || passed.last_row > longest_->last_row) longest_ = &passed;
  }
  if (longest_ != nullptr && longest_->last_row >= row) return text_of(*longest_);
  for (size_t i = next_; i < areas_.size() && areas_[i].first_row == row; ++i) {
    if (areas_[i].matters_at_once) return text_of(areas_[i]);
  }
  return std::nullopt;
}

}  // namespace girdle::sheet
