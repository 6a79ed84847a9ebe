#include "base/percent.h"

#include "base/text.h"

namespace girdle::base {

void append_percent(std::string& out, char byte) {
  static constexpr char kHex[] = "0123456789ABCDEF";
  const auto value = static_cast<unsigned char>(byte);
  out += {'%', kHex[value >> 4], kHex[value & 15]};
}

std::string percent_encoded(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (is_unreserved(c)) {
      out += c;
    } else {
      append_percent(out, c);
    }
  }
  return out;
}

}  // namespace girdle::base
