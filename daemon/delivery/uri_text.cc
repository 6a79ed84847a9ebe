#include "delivery/uri_text.h"

#include "base/text.h"

namespace girdle::delivery {
namespace {

using base::is_hex;
using base::is_unreserved;

// gen-delims and sub-delims (RFC 3986 2.2) but "#", which comes once, and "%".
bool is_reserved(char c) {
  return std::string_view(":/?[]@!$&'()*+,;=").find(c) != std::string_view::npos;
}

// Where the scheme's colon stands; npos where there is no scheme.
size_t scheme_end(std::string_view text) {
  if (text.empty() || !base::is_letter(text.front())) return std::string_view::npos;
  for (size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    if (c == ':') return i;
    if (!base::is_letter(c) && !base::is_digit(c) && c != '+' && c != '-' && c != '.') break;
  }
  return std::string_view::npos;
}

}  // namespace

bool is_uri(std::string_view text) {
  const size_t colon = scheme_end(text);
  if (colon == std::string_view::npos || colon + 1 == text.size()) return false;
  bool in_fragment = false;
  for (size_t i = colon + 1; i < text.size(); ++i) {
    if (text[i] == '%') {
      if (i + 2 >= text.size() || !is_hex(text[i + 1]) || !is_hex(text[i + 2])) return false;
      i += 2;
    } else if (text[i] == '#') {
      if (in_fragment) return false;
      in_fragment = true;
    } else if (!is_unreserved(text[i]) && !is_reserved(text[i])) {
      return false;
    }
  }
  return true;
}

base::Result<UriPattern> UriPattern::compile(std::string_view text, std::string_view place) {
  const std::string braces = "{" + std::string(place) + "}";
  const size_t at = text.find(braces);
  if (at == std::string_view::npos || text.find(braces, at + 1) != std::string_view::npos) {
    return base::input_error(base::in_quotes(text, 200) + " has to have " + braces +
                             " in it, once");
  }
  UriPattern pattern(text.substr(0, at), text.substr(at + braces.size()));
  if (scheme_end(pattern.before_) == std::string_view::npos || !is_uri(pattern.with("0"))) {
    return base::input_error(base::in_quotes(text, 200) +
                             " is no URI; right would be \"https://quay-street.example/stock/" +
                             braces + "\"");
  }
  return pattern;
}

std::string UriPattern::with(std::string_view value) const {
  return before_ + percent_encoded(value) + after_;
}

}  // namespace girdle::delivery
