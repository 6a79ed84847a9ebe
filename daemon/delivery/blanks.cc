#include "delivery/blanks.h"

#include <algorithm>
#include <charconv>

#include "base/text.h"

namespace girdle::delivery {
namespace {

constexpr std::string_view kBlank = "***";

// The byte that `digits`, all hexadecimal, mean; -1 where they are not.
int hex_value(std::string_view digits) {
  int value = 0;
  const char* const end = digits.data() + digits.size();
  const auto read = std::from_chars(digits.data(), end, value, 16);
  return read.ec == std::errc() && read.ptr == end ? value : -1;
}

// How many bytes at the front of `text` write the byte `c`: by itself, escaped in a JSON string, or
// percent-encoded.
size_t spelled(std::string_view text, char c) {
  if (text.empty()) return 0;
  if (text[0] == c) return c == '\\' && text.starts_with("\\\\") ? 2 : 1;
  const int wanted = static_cast<unsigned char>(c);
  if (text[0] == '%' && text.size() >= 3) return hex_value(text.substr(1, 2)) == wanted ? 3 : 0;
  if (text[0] != '\\' || text.size() < 2) return 0;
  if (text[1] == 'u' && text.size() >= 6) return hex_value(text.substr(2, 4)) == wanted ? 6 : 0;
  return text[1] == c ? 2 : 0;
}

// The text ends here, or in the middle of an escape.
bool is_cut(std::string_view rest) {
  if (rest.empty()) return true;
  return (rest[0] == '\\' && rest.size() < 6) || (rest[0] == '%' && rest.size() < 3);
}

// How long `secret` is as it stands at the front of `text`; 0 = it does not. A text that ends
// within a secret may have been cut there.
size_t found(std::string_view text, std::string_view secret) {
  static constexpr size_t kTelling = 6;  // fewer bytes at the end stand there by chance
  if (text.starts_with(secret)) return secret.size();
  size_t at = 0;
  for (size_t i = 0; i < secret.size(); ++i) {
    const std::string_view rest = text.substr(at);
    const size_t size = spelled(rest, secret[i]);
    if (size == 0) return i >= kTelling && is_cut(rest) ? text.size() : 0;
    at += size;
  }
  return at;
}

bool is_base64(char c) {
  return base::is_letter(c) || base::is_digit(c) || c == '+' || c == '/' || c == '=';
}

// The same of anything that is written as a secret of signatures.
size_t found_signing(std::string_view text) {
  for (const std::string_view prefix : {"whsec_", "whsk_"}) {
    if (!text.starts_with(prefix)) continue;
    size_t at = prefix.size();
    while (at < text.size() && (is_base64(text[at]) || text[at] == '\\')) ++at;
    return at;
  }
  return 0;
}

}  // namespace

void Blanks::add(std::string_view secret) {
  if (!secret.empty()) secrets_.emplace_back(secret);
}

std::string Blanks::operator()(std::string_view text, std::string_view also) const {
  std::string out;
  out.reserve(text.size());
  while (!text.empty()) {
    size_t size = std::max(found_signing(text), found(text, also));
    for (const SecretBytes& secret : secrets_) size = std::max(size, found(text, secret.view()));
    if (size > 0) {
      out += kBlank;
    } else {
      out += text[0];
    }
    text.remove_prefix(std::max<size_t>(size, 1));
  }
  return out;
}

}  // namespace girdle::delivery
