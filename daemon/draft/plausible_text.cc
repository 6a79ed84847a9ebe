#include "draft/plausible_text.h"

#include <cstdint>

namespace girdle::draft {
namespace {

// The next character of UTF-8 that is well-formed; moves `text` on.
uint32_t take_character(std::string_view& text) {
  const auto first = static_cast<unsigned char>(text.front());
  const size_t length = first < 0x80 ? 1 : first < 0xE0 ? 2 : first < 0xF0 ? 3 : 4;
  uint32_t c = length == 1 ? first : first & (0x7F >> length);
  for (size_t i = 1; i < length && i < text.size(); ++i) {
    c = c << 6 | (static_cast<unsigned char>(text[i]) & 0x3F);
  }
  text.remove_prefix(length < text.size() ? length : text.size());
  return c;
}

bool is_between(uint32_t c, uint32_t first, uint32_t last) { return c >= first && c <= last; }

enum class Script { kNone, kLatin, kGreek, kCyrillic, kHebrew, kArabic, kThai, kEastAsian };

Script script_of(uint32_t c) {
  const bool ascii = is_between(c | 0x20, 'a', 'z');
  const bool latin = is_between(c, 0xC0, 0x24F) && c != 0xD7 && c != 0xF7;
  if (ascii || latin || c == 0xAA || c == 0xBA) return Script::kLatin;
  if (is_between(c, 0x370, 0x3FF)) return Script::kGreek;
  if (is_between(c, 0x400, 0x4FF)) return Script::kCyrillic;
  if (is_between(c, 0x5D0, 0x5EA)) return Script::kHebrew;
  if (is_between(c, 0x600, 0x6FF)) return Script::kArabic;
  if (is_between(c, 0xE00, 0xE7F)) return Script::kThai;
  const bool kana = is_between(c, 0x3041, 0x30FF), han = is_between(c, 0x4E00, 0x9FFF);
  if (kana || han || is_between(c, 0xAC00, 0xD7A3)) return Script::kEastAsian;
  return Script::kNone;
}

// Of Latin-1, Greek and Cyrillic; the two cases of Latin Extended alternate.
bool is_capital(uint32_t c) {
  if (is_between(c, 'A', 'Z') || is_between(c, 0xC0, 0xDE)) return true;
  if (is_between(c, 0x391, 0x3A9) || is_between(c, 0x400, 0x42F)) return true;
  return is_between(c, 0x100, 0x137) && c % 2 == 0;
}

// What people write between words: dashes, quotes, degrees, currencies, № and ×.
bool is_usual_mark(uint32_t c) {
  constexpr uint32_t kUsual[] = {0xA0,   0xA3,   0xA7,   0xAB,   0xB0,   0xB1,   0xB2,   0xB3,
                                 0xB5,   0xBB,   0xBD,   0xD7,   0xD8,   0xF8,   0x2013, 0x2014,
                                 0x2018, 0x2019, 0x201C, 0x201D, 0x201E, 0x2026, 0x20AC, 0x2116,
                                 0x2122, 0x3001, 0x3002, 0xFF08, 0xFF09, 0xFF0C, 0xFF1A};
  for (const uint32_t mark : kUsual) {
    if (c == mark) return true;
  }
  return false;
}

int worth_by_itself(uint32_t c) {
  if (is_between(c, 0x80, 0x9F) || is_between(c, 0xE000, 0xF8FF)) return -8;
  if (is_between(c, 0x2500, 0x25FF)) return -4;  // frames and blocks
  if (is_usual_mark(c)) return 1;
  if (is_between(c, 0xFF61, 0xFF9F)) return -1;  // half-width kana
  switch (script_of(c)) {
    case Script::kLatin:
      return is_between(c, 0x180, 0x24F) ? -1 : 2;
    case Script::kGreek:
    case Script::kCyrillic:
    case Script::kHebrew:
    case Script::kArabic:
    case Script::kThai:
    case Script::kEastAsian:
      return 2;
    case Script::kNone:
      break;
  }
  return -2;
}

}  // namespace

int plausibility(std::string_view text) {
  int sum = 0;
  uint32_t before = ' ';
  while (!text.empty()) {
    const uint32_t c = take_character(text);
    if (c >= 0x80) sum += worth_by_itself(c);
    const Script here = script_of(c), there = script_of(before);
    const bool beyond = c >= 0x80 || before >= 0x80;
    if (beyond && here != Script::kNone && there != Script::kNone) {
      if (here != there) {
        sum -= 5;
      } else {
        // Where Latin letters are meant, those with accents stand among others without.
        const bool accents = here == Script::kLatin && c >= 0x80 && before >= 0x80;
        sum += is_capital(c) && !is_capital(before) ? -3 : accents ? -1 : 1;
      }
    }
    before = c;
  }
  return sum;
}

}  // namespace girdle::draft
