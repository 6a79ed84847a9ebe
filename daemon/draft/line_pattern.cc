#include "draft/line_pattern.h"

#include <algorithm>

#include "base/text.h"

namespace girdle::draft {
namespace {

bool is_special(char c) {
  return std::string_view("\\.+*?()|[]{}^$").find(c) != std::string_view::npos;
}

}  // namespace

std::string quoted_for_pattern(std::string_view text) {
  std::string pattern;
  for (const char c : text) {
    if (is_special(c)) pattern += '\\';
    pattern += c;
  }
  return pattern;
}

bool is_ruler(std::string_view line) {
  const std::string_view marks = base::trimmed(line);
  return marks.size() > 2 && marks.find_first_not_of("-=_*#~+. |") == marks.npos &&
         marks.find_first_of("-=_*#~") != marks.npos;
}

std::string pattern_for(std::string_view line) {
  const std::string_view text = base::trimmed(line);
  const bool one_mark = is_ruler(text) && std::all_of(text.begin(), text.end(),
                                                      [&](char c) { return c == text.front(); });
  constexpr std::string_view kBeyondAscii = "[^\\x00-\\x7F]+";
  const bool known = base::is_utf8(text);
  std::string pattern;
  for (const char c : one_mark ? text.substr(0, 1) : text) {
    const bool unknown = !known && static_cast<unsigned char>(c) >= 0x80;
    if (unknown && pattern.ends_with(kBeyondAscii)) continue;
    if (unknown) {
      pattern += kBeyondAscii;
      continue;
    }
    const bool digit = c >= '0' && c <= '9';
    if (digit && pattern.ends_with("\\d+")) continue;
    if (digit) {
      pattern += "\\d+";
      continue;
    }
    if (is_special(c)) pattern += '\\';
    pattern += c;
  }
  return one_mark ? pattern + '+' : pattern;
}

}  // namespace girdle::draft
