#include "delivery/credentials.h"

#include <openssl/crypto.h>

#include <algorithm>
#include <cstdint>
#include <span>

#include "base/text.h"
#include "delivery/base64.h"

namespace girdle::delivery {

base::Result<SecretBytes> basic_credentials(std::string_view user, std::string_view password) {
  const bool unfit =
      user.empty() || !base::is_utf8(user) || std::any_of(user.begin(), user.end(), [](char c) {
        return c == ':' || static_cast<unsigned char>(c) < ' ' || c == '\x7f';
      });
  if (unfit) {
    return base::input_error("the user " + base::in_quotes(user) +
                             " is empty, or has a \":\" or a control character, which no user of "
                             "HTTP Basic has (RFC 7617)");
  }
  const SecretBytes pair({user, ":", password});
  const std::string_view bytes = pair.view();
  std::string encoded;
  encoded.reserve((bytes.size() + 2) / 3 * 4);  // so that no copy of it is left behind
  append_base64(encoded, {reinterpret_cast<const uint8_t*>(bytes.data()), bytes.size()});
  SecretBytes credentials({"Basic ", encoded});
  OPENSSL_cleanse(encoded.data(), encoded.size());
  return credentials;
}

base::Result<SecretBytes> basic_credentials(std::string_view user,
                                            const config::SecretFile& password) {
  if (!password.given()) return basic_credentials(user, std::string_view());
  auto line = load_secret_line(password);
  if (!line) return line;
  return basic_credentials(user, line->view());
}

void append_form_encoded(std::string& out, std::string_view text) {
  static constexpr std::string_view kDigits = "0123456789ABCDEF";
  static constexpr std::string_view kMarks = "*-._";
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (base::is_letter(c) || base::is_digit(c) || kMarks.find(c) != std::string_view::npos) {
      out += c;
    } else if (c == ' ') {
      out += '+';
    } else {
      out += '%';
      out += kDigits[byte >> 4];
      out += kDigits[byte & 15];
    }
  }
}

}  // namespace girdle::delivery
