// The characters and names of XML 1.0 (fifth edition), productions [2] to [5], in UTF-8.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

namespace girdle::xml {

// Production [3].
constexpr bool is_space(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; }

// Production [2]: what a document may hold, as it stands or by its number.
constexpr bool is_character(uint32_t point) {
  if (point < 0x20) return point == 0x9 || point == 0xA || point == 0xD;
  return point <= 0xD7FF || (point >= 0xE000 && point <= 0xFFFD) ||
         (point >= 0x10000 && point <= 0x10FFFF);
}

// True where every character of well-formed UTF-8 may stand in a document.
bool are_characters(std::string_view text);

// Bytes of the Name with which `text` begins; 0 = with none. Any bytes may come.
size_t name_length(std::string_view text);

inline bool is_name(std::string_view text) {
  return !text.empty() && name_length(text) == text.size();
}

// `text` without the white space with which it begins, or ends.
std::string_view without_leading_space(std::string_view text);
std::string_view without_trailing_space(std::string_view text);

// Capital letters of ASCII as small ones, all else as it is.
constexpr char in_lower_case(char c) {
  return c >= 'A' && c <= 'Z' ? static_cast<char>(c | 0x20) : c;
}
std::string in_lower_case(std::string_view text);

}  // namespace girdle::xml
