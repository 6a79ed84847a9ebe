#include "sheet/cell_place.h"

#include "sheet/whole_number.h"

namespace girdle::sheet {

namespace {

constexpr uint32_t kLetters = 26;

// The digits of a column are 1 to 26: there is no letter for 0.
std::optional<uint32_t> column_number(std::string_view letters) {
  if (letters.empty() || letters.size() > 3) return std::nullopt;
  uint32_t number = 0;
  for (const char c : letters) number = kLetters * number + static_cast<uint32_t>(c - 'A') + 1;
  if (number > kMostColumns) return std::nullopt;
  return number - 1;
}

}  // namespace

std::optional<uint64_t> row_number(std::string_view text) {
  const std::optional<uint64_t> number = whole_number(text);
  return number && *number >= 1 && *number <= kMostRows ? number : std::nullopt;
}

std::optional<CellPlace> cell_place(std::string_view text) {
  size_t letters = 0;
  while (letters < text.size() && text[letters] >= 'A' && text[letters] <= 'Z') ++letters;
  const std::optional<uint32_t> column = column_number(text.substr(0, letters));
  const std::optional<uint64_t> row = row_number(text.substr(letters));
  if (!column || !row) return std::nullopt;
  return CellPlace{*column, *row};
}

std::string column_letters(uint32_t column) {
  std::string letters;
  for (uint32_t rest = column + 1; rest > 0; rest = (rest - 1) / kLetters)
    letters.insert(letters.begin(), static_cast<char>('A' + (rest - 1) % kLetters));
  return letters;
}

}  // namespace girdle::sheet
