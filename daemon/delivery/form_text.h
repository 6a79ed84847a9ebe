// Text in a form: application/x-www-form-urlencoded (URL standard of WHATWG, 5.2; RFC 6749 appendix
// B).
#pragma once

#include <string>
#include <string_view>

namespace girdle::delivery {

// Letters, digits and *-._ as they are, a space as "+", every other byte of the UTF-8 as %XX.
// Appends to `out`.
void append_form(std::string& out, std::string_view text);

}  // namespace girdle::delivery
