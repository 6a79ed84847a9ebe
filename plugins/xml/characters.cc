#include "xml/characters.h"

#include <algorithm>

namespace girdle::xml {

namespace {

struct Range {
  uint32_t first, last;
};

// Production [4], beyond ASCII.
constexpr Range kNameStart[] = {{0xC0, 0xD6},     {0xD8, 0xF6},     {0xF8, 0x2FF},
                                {0x370, 0x37D},   {0x37F, 0x1FFF},  {0x200C, 0x200D},
                                {0x2070, 0x218F}, {0x2C00, 0x2FEF}, {0x3001, 0xD7FF},
                                {0xF900, 0xFDCF}, {0xFDF0, 0xFFFD}, {0x10000, 0xEFFFF}};
// Production [4a], what it has more.
constexpr Range kNameMore[] = {{0xB7, 0xB7}, {0x300, 0x36F}, {0x203F, 0x2040}};

template <size_t size>
bool is_in(const Range (&ranges)[size], uint32_t point) {
  return std::any_of(std::begin(ranges), std::end(ranges), [point](const Range& range) {
    return point >= range.first && point <= range.last;
  });
}

bool is_name_start(uint32_t point) {
  if (point < 0x80) {
    const uint32_t letter = point | 0x20;
    return (letter >= 'a' && letter <= 'z') || point == '_' || point == ':';
  }
  return is_in(kNameStart, point);
}

bool is_name_character(uint32_t point) {
  if (point < 0x80 && ((point >= '0' && point <= '9') || point == '-' || point == '.')) return true;
  return is_name_start(point) || is_in(kNameMore, point);
}

struct Point {
  uint32_t value;
  size_t size;  // bytes; 0 = none
};

// The character at text[0]. Whether the bytes are well-formed is asked elsewhere.
Point first_point(std::string_view text) {
  if (text.empty()) return {0, 0};
  const auto lead = static_cast<uint8_t>(text[0]);
  if (lead < 0x80) return {lead, 1};
  const size_t size = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : 2;
  if (text.size() < size) return {0, 0};
  uint32_t value = lead & (0xFFu >> (size + 1));
  for (size_t i = 1; i < size; ++i) value = value << 6 | (static_cast<uint8_t>(text[i]) & 0x3Fu);
  return {value, size};
}

}  // namespace

bool are_characters(std::string_view text) {
  for (size_t i = 0; i < text.size(); ++i) {
    const auto byte = static_cast<uint8_t>(text[i]);
    if (byte < 0x20 && !is_space(text[i])) return false;
    // U+FFFE and U+FFFF, the only ones in well-formed UTF-8 that are left.
    if (byte == 0xEF &&
        (text.substr(i, 3) == "\xEF\xBF\xBE" || text.substr(i, 3) == "\xEF\xBF\xBF"))
      return false;
  }
  return true;
}

size_t name_length(std::string_view text) {
  Point point = first_point(text);
  if (point.size == 0 || !is_name_start(point.value)) return 0;
  size_t length = 0;
  while (point.size > 0 && is_name_character(point.value)) {
    length += point.size;
    point = first_point(text.substr(length));
  }
  return length;
}

std::string_view without_leading_space(std::string_view text) {
  const auto* first = std::find_if_not(text.begin(), text.end(), is_space);
  return text.substr(static_cast<size_t>(first - text.begin()));
}

std::string_view without_trailing_space(std::string_view text) {
  while (!text.empty() && is_space(text.back())) text.remove_suffix(1);
  return text;
}

std::string in_lower_case(std::string_view text) {
  std::string lower(text);
  for (char& c : lower) c = in_lower_case(c);
  return lower;
}

}  // namespace girdle::xml
