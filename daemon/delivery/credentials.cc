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
        return c == ':' || base::is_control(c);
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

}  // namespace girdle::delivery
