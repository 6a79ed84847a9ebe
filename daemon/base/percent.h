// Percent-encoding (RFC 3986 2.1).
#pragma once

#include <string>
#include <string_view>

namespace girdle::base {

// Appends the byte as %XX.
void append_percent(std::string& out, char byte);

// Everything but unreserved characters (2.3) as %XX, byte by byte.
std::string percent_encoded(std::string_view text);

}  // namespace girdle::base
