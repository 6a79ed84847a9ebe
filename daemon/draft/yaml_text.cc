#include "draft/yaml_text.h"

#include <algorithm>

#include "base/text.h"

namespace girdle::draft {
namespace {

constexpr size_t kWidth = 80;  // a terminal

bool is_letter_or_digit(char c) {
  return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
}

bool is_plain(std::string_view text) {
  if (text.empty()) return false;
  const bool begins = is_letter_or_digit(text.front()) || text.front() == '/';
  return begins && std::all_of(text.begin(), text.end(), [](char c) {
           return is_letter_or_digit(c) || c == '_' || c == '-' || c == '.' || c == '/';
         });
}

void append_escaped(std::string& out, unsigned char byte) {
  constexpr char kDigits[] = "0123456789ABCDEF";
  out += "\\x";
  out += kDigits[byte >> 4];
  out += kDigits[byte & 15];
}

// U+0080 to U+009F, U+2028, U+2029 and U+FEFF are no printable characters of YAML
// (YAML 1.2.2, 5.1), or are line breaks to some of its readers.
size_t unprintable_at(std::string_view text, size_t at, std::string& escape) {
  const std::string_view rest = text.substr(at);
  const auto second = rest.size() > 1 ? static_cast<unsigned char>(rest[1]) : 0;
  if (rest.front() == '\xC2' && second >= 0x80 && second < 0xA0) {
    append_escaped(escape, second);
    return 2;
  }
  if (rest.starts_with("\u2028")) escape = "\\u2028";
  if (rest.starts_with("\u2029")) escape = "\\u2029";
  if (rest.starts_with("\uFEFF")) escape = "\\uFEFF";
  return escape.empty() ? 0 : 3;
}

}  // namespace

std::string yaml_text(std::string_view text) {
  if (is_plain(text)) return std::string(text);
  std::string out = "\"";
  for (size_t at = 0; at < text.size();) {
    std::string escape;
    if (const size_t taken = unprintable_at(text, at, escape)) {
      out += escape;
      at += taken;
      continue;
    }
    const char c = text[at++];
    if (c == '"' || c == '\\') {
      out += '\\';
      out += c;
    } else if (c == '\n') {
      out += "\\n";
    } else if (c == '\t') {
      out += "\\t";
    } else if (static_cast<unsigned char>(c) < 0x20 || c == 0x7F) {
      append_escaped(out, static_cast<unsigned char>(c));
    } else {
      out += c;
    }
  }
  return out + '"';
}

std::string yaml_comment(std::string_view text, std::string_view indent) {
  const std::string shown = base::excerpt(text, std::string::npos);
  std::string_view rest = shown;
  std::string out;
  while (!rest.empty()) {
    const size_t room = kWidth > indent.size() + 22 ? kWidth - indent.size() - 2 : 20;
    size_t end = rest.size();
    if (end > room) {
      end = rest.rfind(' ', room);
      if (end == rest.npos || end == 0) end = std::min(rest.find(' '), rest.size());
    }
    const std::string_view line = rest.substr(0, end);
    out.append(indent).append("# ").append(line.substr(0, line.find_last_not_of(' ') + 1)) += '\n';
    rest.remove_prefix(std::min(rest.size(), end + 1));
  }
  return out;
}

}  // namespace girdle::draft
