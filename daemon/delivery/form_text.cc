#include "delivery/form_text.h"

#include "base/text.h"

namespace girdle::delivery {

void append_form(std::string& out, std::string_view text) {
  static constexpr char kHex[] = "0123456789ABCDEF";
  for (const char c : text) {
    if (c == ' ') {
      out += '+';
    } else if (base::is_letter(c) || base::is_digit(c) || c == '*' || c == '-' || c == '.' ||
               c == '_') {
      out += c;
    } else {
      const auto byte = static_cast<unsigned char>(c);
      out += {'%', kHex[byte >> 4], kHex[byte & 15]};
    }
  }
}

}  // namespace girdle::delivery
