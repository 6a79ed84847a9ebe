#include "delivery/base64.h"

namespace girdle::delivery {
namespace {

constexpr char kLetters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

int value_of(char letter) {
  if (letter >= 'A' && letter <= 'Z') return letter - 'A';
  if (letter >= 'a' && letter <= 'z') return letter - 'a' + 26;
  if (letter >= '0' && letter <= '9') return letter - '0' + 52;
  if (letter == '+') return 62;
  if (letter == '/') return 63;
  return -1;
}

}  // namespace

void append_base64(std::string& out, std::span<const uint8_t> bytes) {
  size_t i = 0;
  for (; i + 3 <= bytes.size(); i += 3) {
    const uint32_t three = uint32_t{bytes[i]} << 16 | uint32_t{bytes[i + 1]} << 8 | bytes[i + 2];
    out += {kLetters[three >> 18], kLetters[three >> 12 & 63], kLetters[three >> 6 & 63],
            kLetters[three & 63]};
  }
  const size_t rest = bytes.size() - i;
  if (rest == 0) return;
  const uint32_t last = uint32_t{bytes[i]} << 16 | (rest == 2 ? uint32_t{bytes[i + 1]} << 8 : 0);
  out += {kLetters[last >> 18], kLetters[last >> 12 & 63],
          rest == 2 ? kLetters[last >> 6 & 63] : '=', '='};
}

std::optional<size_t> decode_base64(std::string_view text, std::span<uint8_t> out) {
  if (text.size() % 4 != 0) return std::nullopt;
  size_t padding = 0;
  while (padding < 2 && padding < text.size() && text[text.size() - 1 - padding] == '=') ++padding;
  const size_t size = text.size() / 4 * 3 - padding;
  if (size > out.size()) return std::nullopt;

  uint32_t bits = 0;
  int held = 0;
  size_t at = 0;
  for (const char letter : text.substr(0, text.size() - padding)) {
    const int value = value_of(letter);
    if (value < 0) return std::nullopt;
    bits = bits << 6 | static_cast<uint32_t>(value);
    held += 6;
    if (held < 8) continue;
    held -= 8;
    out[at++] = static_cast<uint8_t>(bits >> held);
    bits &= (1u << held) - 1;
  }
  if (bits != 0) return std::nullopt;
  return size;
}

}  // namespace girdle::delivery
