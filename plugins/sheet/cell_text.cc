#include "sheet/cell_text.h"

#include <array>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <pugixml.hpp>

#include "delimited/encoding.h"
#include "xml/element_path.h"

namespace girdle::sheet {

namespace {

constexpr size_t kEscape = 7;  // _x000D_

// The unit of UTF-16 that the escape at the beginning of `text` stands for.
std::optional<uint32_t> escaped_unit(std::string_view text) {
  if (text.size() < kEscape || text[0] != '_' || text[1] != 'x' || text[6] != '_')
    return std::nullopt;
  uint32_t unit = 0;
  const auto [at, error] = std::from_chars(text.data() + 2, text.data() + 6, unit, 16);
  if (error != std::errc() || at != text.data() + 6) return std::nullopt;
  return unit;
}

bool is_high(uint32_t unit) { return unit >= 0xD800 && unit < 0xDC00; }
bool is_low(uint32_t unit) { return unit >= 0xDC00 && unit < 0xE000; }

// Takes an escape, or a pair of them, from `text`; false where none is there.
bool take_escape(std::string_view& text, std::string& out) {
  const std::optional<uint32_t> unit = escaped_unit(text);
  if (!unit || is_low(*unit)) return false;
  if (!is_high(*unit)) {
    delimited::append_utf8(*unit, out);
    text.remove_prefix(kEscape);
    return true;
  }
  const std::optional<uint32_t> low = escaped_unit(text.substr(kEscape));
  if (!low || !is_low(*low)) return false;
  delimited::append_utf8(0x10000 + ((*unit - 0xD800) << 10) + (*low - 0xDC00), out);
  text.remove_prefix(2 * kEscape);
  return true;
}

}  // namespace

void append_unescaped(std::string_view text, std::string& out) {
  while (!text.empty()) {
    const size_t plain = std::min(text.find('_'), text.size());
    out += text.substr(0, plain);
    text.remove_prefix(plain);
    if (text.empty() || take_escape(text, out)) continue;
    out += '_';
    text.remove_prefix(1);
  }
}

std::string plain_text(pugi::xml_node element) {
  std::string text;
  for (const pugi::xml_node one : element.children()) {
    if (one.type() != pugi::node_element) text += one.value();
  }
  return text;
}

void append_shown(pugi::xml_node item, std::string& out) {
  for (const pugi::xml_node one : item.children()) {
    const std::string_view name = xml::local_part(one.name());
    if (name == "t") append_unescaped(plain_text(one), out);
    if (name != "r") continue;
    for (const pugi::xml_node part : one.children()) {
      if (xml::local_part(part.name()) == "t") append_unescaped(plain_text(part), out);
    }
  }
}

std::optional<std::string> shortest_decimal(double number) {
  static constexpr double kMost = 1e21;
  static constexpr double kLeast = 1e-9;
  const double size = std::fabs(number);
  if (size >= kMost || (size < kLeast && size != 0)) return std::nullopt;
  std::array<char, 64> digits;
  const auto [end, error] =
      std::to_chars(digits.data(), digits.data() + digits.size(), number, std::chars_format::fixed);
  if (error != std::errc()) return std::nullopt;
  return std::string(digits.data(), end);
}

std::optional<double> number_of(std::string_view text) {
  if (text.starts_with('+')) text.remove_prefix(1);
  double number = 0;
  const char* end = text.data() + text.size();
  const auto [at, error] = std::from_chars(text.data(), end, number);
  if (error != std::errc() || at != end || !std::isfinite(number)) return std::nullopt;
  return number;
}

}  // namespace girdle::sheet
