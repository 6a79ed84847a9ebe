#include "api/plain_text.h"

#include <algorithm>

#include "base/text.h"

namespace girdle::api {
namespace {

// Three bytes of UTF-8: U+2028 to U+202E (separators, embeddings, overrides) and U+2066 to U+2069 (isolates; UAX #9).
bool is_turning(std::string_view three) {
  if (!three.starts_with("\xE2\x80") && !three.starts_with("\xE2\x81")) return false;
  const auto last = static_cast<unsigned char>(three[2]);
  return three[1] == '\x80' ? last >= 0xA8 && last <= 0xAE : last >= 0xA6 && last <= 0xA9;
}

bool holds_control(std::string_view text) {
  for (size_t i = 0; i < text.size(); ++i) {
    if (base::is_control(text[i])) return true;
    if (text[i] == '\xC2' && static_cast<unsigned char>(text[i + 1]) < 0xA0) return true;
    if (text[i] == '\xE2' && is_turning(text.substr(i, 3))) return true;
  }
  return false;
}

}  // namespace

std::optional<std::string> wrong_with_text(std::string_view text, size_t most) {
  if (std::ranges::all_of(text, [](char c) { return c == ' '; }))
    return "it is empty; it is a text of 1 to " + std::to_string(most) + " bytes";
  if (text.size() > most)
    return "it has " + std::to_string(text.size()) + " bytes; at most " + std::to_string(most) + " are taken";
  if (!base::is_utf8(text)) return "it is not UTF-8";
  if (holds_control(text)) return "it holds control characters: " + base::in_quotes(text) + "; visible text is taken";
  return std::nullopt;
}

std::string wrong_time_text(std::string_view name, std::string_view given) {
  return std::string(name) + " is " + base::in_quotes(given) +
         ", which is no time; one is 2026-11-02T10:15:30Z or 2026-11-02T11:15:30+01:00";
}

}  // namespace girdle::api
