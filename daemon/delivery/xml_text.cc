#include "delivery/xml_text.h"

#include <algorithm>
#include <cstdint>

#include "base/text.h"

namespace girdle::delivery {
namespace {

// Of UTF-8 that is well formed.
char32_t next_character(std::string_view text, size_t& at) {
  const auto byte = [&](size_t i) { return static_cast<unsigned char>(text[at + i]); };
  const unsigned char first = byte(0);
  const size_t size = first < 0x80 ? 1 : first < 0xE0 ? 2 : first < 0xF0 ? 3 : 4;
  char32_t character = size == 1 ? first : first & (0x7Fu >> size);
  for (size_t i = 1; i < size; ++i) character = (character << 6) | (byte(i) & 0x3Fu);
  at += size;
  return character;
}

struct Range {
  char32_t first, last;
};

// Production 4 without the colon, beyond ASCII.
constexpr Range kStarts[] = {{0xC0, 0xD6},     {0xD8, 0xF6},     {0xF8, 0x2FF},
                             {0x370, 0x37D},   {0x37F, 0x1FFF},  {0x200C, 0x200D},
                             {0x2070, 0x218F}, {0x2C00, 0x2FEF}, {0x3001, 0xD7FF},
                             {0xF900, 0xFDCF}, {0xFDF0, 0xFFFD}, {0x10000, 0xEFFFF}};
// What production 4a adds, beyond ASCII.
constexpr Range kFollows[] = {{0xB7, 0xB7}, {0x300, 0x36F}, {0x203F, 0x2040}};

template <size_t N>
bool is_in(const Range (&ranges)[N], char32_t c) {
  return std::any_of(std::begin(ranges), std::end(ranges),
                     [c](const Range& range) { return c >= range.first && c <= range.last; });
}

bool starts_name(char32_t c) {
  if (c < 0x80) return base::is_letter(static_cast<char>(c)) || c == '_';
  return is_in(kStarts, c);
}

bool follows_in_name(char32_t c) {
  if (starts_name(c)) return true;
  if (c < 0x80) return base::is_digit(static_cast<char>(c)) || c == '-' || c == '.';
  return is_in(kFollows, c);
}

bool is_ncname(std::string_view name) {
  if (name.empty()) return false;
  size_t at = 0;
  if (!starts_name(next_character(name, at))) return false;
  while (at < name.size()) {
    if (!follows_in_name(next_character(name, at))) return false;
  }
  return true;
}

std::string_view reference_for(char c, bool in_attribute) {
  switch (c) {
    case '&':
      return "&amp;";
    case '<':
      return "&lt;";
    case '>':
      return "&gt;";  // "]]>" may not stand in text
    case '\r':
      return "&#13;";
    case '"':
      return in_attribute ? "&quot;" : "";
    case '\t':
      return in_attribute ? "&#9;" : "";
    case '\n':
      return in_attribute ? "&#10;" : "";
    default:
      return "";
  }
}

void append_escaped(std::string& out, std::string_view text, bool in_attribute) {
  size_t plain = 0;  // start of the stretch that needs no reference
  for (size_t i = 0; i < text.size(); ++i) {
    const std::string_view reference = reference_for(text[i], in_attribute);
    if (reference.empty()) continue;
    out.append(text, plain, i - plain).append(reference);
    plain = i + 1;
  }
  out.append(text, plain, text.size() - plain);
}

}  // namespace

bool is_xml_name(std::string_view name) {
  if (!base::is_utf8(name)) return false;
  const size_t colon = name.find(':');
  if (colon == std::string_view::npos) return is_ncname(name);
  return is_ncname(name.substr(0, colon)) && is_ncname(name.substr(colon + 1));
}

std::optional<size_t> first_unfit_for_xml(std::string_view text) {
  for (size_t i = 0; i < text.size(); ++i) {
    const auto byte = static_cast<unsigned char>(text[i]);
    if (byte < 0x20 && byte != '\t' && byte != '\n' && byte != '\r') return i;
    // U+FFFE and U+FFFF; there are no surrogates in UTF-8.
    if (byte == 0xEF && i + 2 < text.size() && static_cast<unsigned char>(text[i + 1]) == 0xBF &&
        static_cast<unsigned char>(text[i + 2]) >= 0xBE) {
      return i;
    }
  }
  return std::nullopt;
}

void append_xml_text(std::string& out, std::string_view text) { append_escaped(out, text, false); }
void append_xml_attribute(std::string& out, std::string_view text) {
  append_escaped(out, text, true);
}

}  // namespace girdle::delivery
