// The address of a webhook, read strictly: what a library would bend into something else is
// refused.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "base/result.h"

namespace girdle::delivery {

// All parts are visible ASCII without CR, LF or spaces: they can stand in a request line and a
// header.
struct Url {
  bool tls = false;
  std::string host;      // a name, or an address without brackets; lower case
  bool literal = false;  // host is an IPv4 or IPv6 address
  uint16_t port = 0;
  std::string target;  // path and query; begins with "/"
  std::string
      authority;  // for the Host header: brackets where needed, port unless the scheme's own

  std::string text() const { return (tls ? "https://" : "http://") + authority + target; }
};

// RFC 3986, `http` and `https` only. Refused, with the reason: user names, fragments, characters
// that need percent-encoding (names outside ASCII too), ports outside 1 to 65535, names that only
// look like addresses ("127.1", "0x7f.1": some resolvers take them for 127.0.0.1), more than 2,048
// characters.
base::Result<Url> parse_url(std::string_view text);

}  // namespace girdle::delivery
