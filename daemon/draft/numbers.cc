#include "draft/numbers.h"

#include <algorithm>
#include <charconv>
#include <string>

#include "reading/field_values.h"

namespace girdle::draft {
namespace {

using Values = std::vector<base::Decimal>;

constexpr Marks kMarks[] = {{'.', '\0'}, {',', '\0'}, {'.', ','},  {',', '.'},
                            {'.', ' '},  {',', ' '},  {'.', '\''}, {',', '\''}};

// Nothing where one of the texts is no number with these marks, or there is no text.
std::optional<Values> values_of(std::span<const std::string_view> texts, const Marks& marks) {
  Values values;
  const reading::NumberForm form{marks.decimal, marks.group};
  std::string reason;
  for (std::string_view text : texts) {
    text = reading::without_outer_space(text);
    if (text.empty()) continue;
    std::optional<base::Decimal> value;
    if (!reading::read_decimal(text, form, value, reason) || !value) return std::nullopt;
    values.push_back(*value);
  }
  if (values.empty()) return std::nullopt;
  return values;
}

bool has_marks(std::string_view text) { return text.find_first_of(".,' ") != text.npos; }

void set_bounds(std::span<const std::string_view> texts, const Values& values, NumberLook& look) {
  size_t at = 0;
  for (std::string_view text : texts) {
    text = reading::without_outer_space(text);
    if (text.empty()) continue;
    const base::Decimal& value = values[at++];
    if (at == 1 || value < look.least) {
      look.least = value;
      look.least_text = text;
    }
    if (at == 1 || value > look.most) {
      look.most = value;
      look.most_text = text;
    }
  }
}

}  // namespace

NumberLook look_at_numbers(std::span<const std::string_view> texts) {
  NumberLook look;
  std::vector<Values> known;
  for (const Marks& marks : kMarks) {
    auto values = values_of(texts, marks);
    if (!values || std::find(known.begin(), known.end(), *values) != known.end()) continue;
    if (known.empty()) set_bounds(texts, *values, look);
    known.push_back(std::move(*values));
    look.marks.push_back(marks);
  }
  look.whole = look.are_numbers() && std::none_of(texts.begin(), texts.end(), [](auto text) {
                 return has_marks(reading::without_outer_space(text));
               });
  return look;
}

std::string_view without_unit(std::string_view text, std::string_view unit) {
  text = reading::without_outer_space(text);
  if (text.ends_with(unit)) text.remove_suffix(unit.size());
  return reading::without_outer_space(text);
}

std::string_view common_unit(std::span<const std::string_view> texts) {
  std::string_view unit;
  for (const std::string_view text : texts) {
    const std::string_view whole = reading::without_outer_space(text);
    if (whole.empty()) continue;
    const size_t end = whole.find_last_of("0123456789");
    if (end == whole.npos || end + 1 == whole.size()) return {};
    const std::string_view behind = reading::without_outer_space(whole.substr(end + 1));
    if (!unit.empty() && behind != unit) return {};
    unit = behind;
  }
  return unit;
}

std::optional<int64_t> whole_number(std::string_view text) {
  if (text.empty() || text.size() > 18 || text.front() == '-') return std::nullopt;
  int64_t number = 0;
  const auto read = std::from_chars(text.data(), text.data() + text.size(), number);
  if (read.ec != std::errc() || read.ptr != text.data() + text.size()) return std::nullopt;
  return number;
}

}  // namespace girdle::draft
