// Texts as they cross the reader ABI: pointer and length, UTF-8, lent.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "girdle/reader.h"

namespace girdle::kit {

// Lives as long as what `text` points to.
inline girdle_text lend(std::string_view text) { return {text.data(), text.size()}; }
inline std::string_view view(girdle_text text) {
  return text.size == 0 ? std::string_view() : std::string_view(text.data, text.size);
}

// How many bytes the character at the front of `text` takes; 0 where there is none that is
// well-formed: no overlong forms, no surrogates, nothing above U+10FFFF (RFC 3629, section 4).
inline size_t utf8_character(std::string_view text) {
  if (text.empty()) return 0;
  const auto byte = [&](size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned char first = byte(0);
  if (first < 0x80) return 1;
  const size_t size = first >= 0xF0 ? 4 : first >= 0xE0 ? 3 : 2;
  if (first < 0xC2 || first > 0xF4 || text.size() < size) return 0;
  for (size_t i = 1; i < size; ++i) {
    if ((byte(i) & 0xC0) != 0x80) return 0;
  }
  const unsigned char second = byte(1);
  const bool overlong = (first == 0xE0 && second < 0xA0) || (first == 0xF0 && second < 0x90);
  const bool beyond = (first == 0xED && second > 0x9F) || (first == 0xF4 && second > 0x8F);
  return overlong || beyond ? 0 : size;
}

// Whether all of it is UTF-8, as names, values and reasons must be.
inline bool is_utf8(std::string_view text) {
  while (!text.empty()) {
    const size_t size = utf8_character(text);
    if (size == 0) return false;
    text.remove_prefix(size);
  }
  return true;
}

// The same for one that can be printed on a line: 0 also for controls (C0, DEL, C1) and for the
// separators of lines and paragraphs.
inline size_t printable_character(std::string_view text) {
  const size_t size = utf8_character(text);
  const auto byte = [&](size_t i) { return static_cast<unsigned char>(text[i]); };
  const bool control = (size == 1 && (byte(0) < 0x20 || byte(0) == 0x7F)) ||
                       (size == 2 && byte(0) == 0xC2 && byte(1) < 0xA0) ||
                       text.starts_with("\xE2\x80\xA8") || text.starts_with("\xE2\x80\xA9");
  return control ? 0 : size;
}

// Appends it with what cannot be printed as \xNN, and "…" where it was cut after `most` bytes or a
// few more.
inline void append_printable(std::string& out, std::string_view text, size_t most) {
  static constexpr char kDigits[] = "0123456789abcdef";
  const size_t end = out.size() + most;
  while (!text.empty() && out.size() < end) {
    const size_t size = printable_character(text);
    if (size > 0) {
      out += text.substr(0, size);
    } else {
      const auto byte = static_cast<unsigned char>(text[0]);
      out += {'\\', 'x', kDigits[byte >> 4], kDigits[byte & 15]};
    }
    text.remove_prefix(size > 0 ? size : 1);
  }
  if (!text.empty()) out += "…";
}

// A piece of a document for a reason: in quotes and on one line.
inline std::string in_quotes(std::string_view text, size_t most = 40) {
  std::string out = "\"";
  append_printable(out, text, most);
  return out + '"';
}

// So long may a reason be: a host shows little more of one.
inline constexpr size_t kMostReason = 400;

// Whether it is as a reason must be: one line of UTF-8, and not a long one.
inline bool is_reason(std::string_view text) {
  if (text.size() > kMostReason) return false;
  while (!text.empty()) {
    const size_t size = printable_character(text);
    if (size == 0) return false;
    text.remove_prefix(size);
  }
  return true;
}

}  // namespace girdle::kit
