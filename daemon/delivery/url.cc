#include "delivery/url.h"

#include <arpa/inet.h>

#include <charconv>

#include "base/text.h"

namespace girdle::delivery {
namespace {

using base::is_digit;
using base::is_hex;
using base::is_letter;
using base::lower;

constexpr size_t kLongest = 2048;
constexpr size_t kLongestName = 253;  // RFC 1035 2.3.4, as text


// RFC 3986: pchar, "/" and "?", with "%" only before two hexadecimal digits.
bool is_target(std::string_view text) {
  static constexpr std::string_view kMarks = "-._~!$&'()*+,;=:@/?";
  for (size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    if (c == '%') {
      if (i + 2 >= text.size() || !is_hex(text[i + 1]) || !is_hex(text[i + 2])) return false;
    } else if (!is_letter(c) && !is_digit(c) && kMarks.find(c) == std::string_view::npos) {
      return false;
    }
  }
  return true;
}

// Letters, digits, "-" and "_" in labels of 1 to 63; the underscore because local names have it.
bool is_name(std::string_view host) {
  if (host.empty() || host.size() > kLongestName) return false;
  size_t label = 0;
  for (const char c : host) {
    if (c == '.') {
      if (label == 0) return false;
      label = 0;
    } else if (is_letter(c) || is_digit(c) || c == '-' || c == '_') {
      if (++label > 63) return false;
    } else {
      return false;
    }
  }
  return label != 0;
}

// Some resolvers read a name whose last label begins with a digit as a number of one to four parts.
bool looks_like_number(std::string_view host) {
  const size_t dot = host.rfind('.');
  return is_digit(host[dot == std::string_view::npos ? 0 : dot + 1]);
}

bool is_v4(const std::string& host) {
  in_addr address{};
  return inet_pton(AF_INET, host.c_str(), &address) == 1;
}

bool is_v6(const std::string& host) {
  in6_addr address{};
  if (host.find('\0') != std::string::npos) return false;  // inet_pton would stop there
  return inet_pton(AF_INET6, host.c_str(), &address) == 1;
}

base::Error wrong(std::string_view url, std::string why) {
  return base::input_error("\"" + base::excerpt(url, 120) + "\" " + std::move(why));
}

// Takes the scheme off `rest`.
bool take_scheme(std::string_view& rest, bool& tls) {
  std::string start;
  for (const char c : rest.substr(0, 8)) start += lower(c);
  tls = start.starts_with("https://");
  if (!tls && !start.starts_with("http://")) return false;
  rest.remove_prefix(tls ? 8 : 7);
  return true;
}

// Splits "host[:port]"; false where it is neither.
bool split_authority(std::string_view authority, std::string& host, std::string_view& port,
                     bool& bracketed) {
  size_t end;
  bracketed = authority.starts_with('[');
  if (bracketed) {
    end = authority.find(']');
    if (end == std::string_view::npos) return false;
    host = authority.substr(1, end - 1);
    ++end;
  } else {
    end = std::min(authority.find(':'), authority.size());
    host = authority.substr(0, end);
  }
  for (char& c : host) c = lower(c);
  port = authority.substr(end);
  return true;
}

// `text` is empty, or ":" and the digits.
bool read_port(std::string_view text, uint16_t& port) {
  if (text.empty()) return true;
  if (text.size() < 2 || !is_digit(text[1])) return false;
  const auto read = std::from_chars(text.data() + 1, text.data() + text.size(), port);
  return read.ec == std::errc() && read.ptr == text.data() + text.size() && port != 0;
}

}  // namespace

base::Result<Url> parse_url(std::string_view text) {
  if (text.size() > kLongest) return wrong(text, "is longer than 2,048 characters");
  Url url;
  std::string_view rest = text;
  if (!take_scheme(rest, url.tls)) return wrong(text, "does not begin with https:// (or http://)");
  if (rest.find('#') != std::string_view::npos) {
    return wrong(text, "has a fragment (#…), which is never sent: leave it out");
  }
  const size_t end = std::min(rest.find_first_of("/?"), rest.size());
  const std::string_view authority = rest.substr(0, end);
  url.target = rest.substr(end);
  if (!url.target.starts_with('/')) url.target.insert(0, "/");
  if (authority.find('@') != std::string_view::npos) {
    return base::input_error(
        "the url has a user name or password before \"@\": leave them out; they have keys and a file "
        "of their own");
  }
  std::string_view port;
  bool bracketed = false;
  if (!split_authority(authority, url.host, port, bracketed))
    return wrong(text, "has \"[\" without \"]\"");
  url.port = url.tls ? 443 : 80;
  if (!read_port(port, url.port)) return wrong(text, "has no port from 1 to 65535 after its host");
  if (bracketed ? !is_v6(url.host) : !is_name(url.host)) {
    return wrong(text, "has no host that is a name in ASCII (xn--… for others) or an address");
  }
  url.literal = bracketed || is_v4(url.host);
  if (!url.literal && looks_like_number(url.host)) {
    return wrong(text, "has a host that looks like an address and is none; write all four numbers");
  }
  if (!is_target(url.target)) {
    return wrong(text, "has a path or query with characters that must be percent-encoded");
  }
  url.authority = bracketed ? "[" + url.host + "]" : url.host;
  if (url.port != (url.tls ? 443 : 80)) url.authority += ":" + std::to_string(url.port);
  return url;
}

}  // namespace girdle::delivery
