#include "labelled/fold.h"

#include <cstdint>

namespace girdle::labelled {

namespace {

// The small letter of a capital one (Unicode, UnicodeData.txt, simple lowercase mapping). In these
// blocks a letter and its capital both take two bytes of UTF-8.
uint32_t small(uint32_t point) {
  const auto within = [&](uint32_t first, uint32_t last) {
    return point >= first && point <= last;
  };
  if (within(0xC0, 0xDE) && point != 0xD7) return point + 0x20;     // À to Þ, not ×
  if (within(0x391, 0x3AB) && point != 0x3A2) return point + 0x20;  // Α to Ϋ
  if (within(0x410, 0x42F)) return point + 0x20;                    // А to Я
  if (within(0x400, 0x40F)) return point + 0x50;                    // Ѐ to Џ
  return point;
}

}  // namespace

void append_folded(std::string_view label, const Fold& fold, std::string& out) {
  bool after_blank = false;
  for (size_t i = 0; i < label.size(); ++i) {
    const char c = label[i];
    const auto byte = static_cast<uint8_t>(c);
    const bool blank = c == ' ' || c == '\t';
    if (fold.space && blank) {
      if (!after_blank) out.push_back(' ');
    } else if (fold.letters && c >= 'A' && c <= 'Z') {
      out.push_back(static_cast<char>(c - 'A' + 'a'));
    } else if (fold.letters && byte >= 0xC3 && byte <= 0xDF && i + 1 < label.size()) {
      const uint32_t point = small((byte & 0x1Fu) << 6 | (label[++i] & 0x3Fu));
      out.push_back(static_cast<char>(0xC0 | point >> 6));
      out.push_back(static_cast<char>(0x80 | (point & 0x3F)));
    } else {
      out.push_back(c);
    }
    after_blank = blank;
  }
}

}  // namespace girdle::labelled
