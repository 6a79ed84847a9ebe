#include "delivery/form_text.h"

#include "base/percent.h"
#include "base/text.h"

namespace girdle::delivery {

void append_form(std::string& out, std::string_view text) {
  for (const char c : text) {
    if (c == ' ') {
      out += '+';
    } else if (base::is_letter(c) || base::is_digit(c) || c == '*' || c == '-' || c == '.' ||
               c == '_') {
      out += c;
    } else {
      base::append_percent(out, c);
    }
  }
}

}  // namespace girdle::delivery
