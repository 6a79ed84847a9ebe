#include "config/values.h"

#include <arpa/inet.h>

#include <algorithm>
#include <charconv>

#include "base/json_pointer.h"
#include "base/text.h"

namespace girdle::config {
namespace {

using base::is_control;
using base::is_digit;
using base::is_letter;
using base::lower;

bool is_alnum(char c) { return is_digit(c) || is_letter(c); }

// Where the number ends; nothing when there is none or it does not fit.
template <class Number>
std::optional<std::string_view> take_number(std::string_view text, Number& number, int base = 10) {
  const char* const end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, number, base);
  if (read.ec != std::errc()) return std::nullopt;
  return std::string_view(read.ptr, static_cast<size_t>(end - read.ptr));
}

bool is_host(std::string_view host, bool bracketed) {
  return !host.empty() && host.size() <= 253 && std::all_of(host.begin(), host.end(), [&](char c) {
    return is_alnum(c) || c == '.' || (bracketed ? c == ':' || c == '%' : c == '-' || c == '_');
  });
}

char upper(char c) { return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c; }

// Where a day begins whose midnight does not come: when clocks go forward over it.
base::Instant after_gap(int64_t midnight, const base::Zone& zone) {
  constexpr int64_t kFar = 48 * 3600 * int64_t{1000};  // more than any offset and any gap together
  int64_t before = midnight - kFar, after = midnight + kFar;
  while (after - before > 1) {
    const int64_t half = before + (after - before) / 2;
    const int64_t local = half + zone.offset_seconds(base::from_millis(half)) * 1000;
    (local < midnight ? before : after) = half;
  }
  return base::from_millis(after);
}

}  // namespace

std::optional<int64_t> parse_whole(std::string_view text) {
  int64_t number = 0;
  const auto rest = take_number(text, number);
  return rest && rest->empty() ? std::optional(number) : std::nullopt;
}

std::optional<uint64_t> parse_size(std::string_view text) {
  uint64_t number = 0;
  const auto unit = take_number(text, number);
  if (!unit) return std::nullopt;
  const int shift = unit->empty()    ? 0
                    : *unit == "KiB" ? 10
                    : *unit == "MiB" ? 20
                    : *unit == "GiB" ? 30
                                     : -1;
  if (shift < 0 || number > UINT64_MAX >> shift) return std::nullopt;
  return number << shift;
}

std::optional<HostPort> parse_host_port(std::string_view text) {
  const size_t colon = text.rfind(':');
  if (colon == text.npos || colon + 1 == text.size() || !is_digit(text[colon + 1])) {
    return std::nullopt;
  }
  HostPort out;
  const auto rest = take_number(text.substr(colon + 1), out.port);
  if (!rest || !rest->empty() || out.port == 0) return std::nullopt;
  std::string_view host = text.substr(0, colon);
  const bool bracketed = host.size() > 2 && host.front() == '[' && host.back() == ']';
  if (bracketed) host = host.substr(1, host.size() - 2);
  if (!is_host(host, bracketed)) return std::nullopt;
  out.host = host;
  return out;
}

std::optional<std::string> parse_bytes(std::string_view text) {
  if (text.empty() || text.size() > 16 || text.size() % 2 != 0) return std::nullopt;
  std::string bytes;
  for (; !text.empty(); text.remove_prefix(2)) {
    uint8_t byte = 0;
    const auto rest = take_number(text.substr(0, 2), byte, 16);
    if (!rest || !rest->empty()) return std::nullopt;
    bytes += static_cast<char>(byte);
  }
  return bytes;
}

std::optional<std::string> language_tag(std::string_view text) {
  constexpr size_t kLongest = 35;  // RFC 5646, 4.4.1
  if (text.size() > kLongest) return std::nullopt;
  std::string tag;
  bool after_single = false;  // the subtags of an extension stay small
  for (size_t from = 0, to; from <= text.size(); from = to + 1) {
    to = std::min(text.find('-', from), text.size());
    std::string part(text.substr(from, to - from));
    const bool first = from == 0;
    const size_t least = first ? 2 : 1;
    if (part.size() < least || part.size() > 8) return std::nullopt;
    if (!std::all_of(part.begin(), part.end(), first ? is_letter : is_alnum)) return std::nullopt;
    std::transform(part.begin(), part.end(), part.begin(), lower);
    if (!first && !after_single) {
      if (part.size() == 2) std::transform(part.begin(), part.end(), part.begin(), upper);
      if (part.size() == 4) part[0] = upper(part[0]);
    }
    after_single = after_single || part.size() == 1;
    tag += (first ? "" : "-") + part;
  }
  return tag;
}

std::optional<base::Instant> parse_moment(std::string_view text, const base::Zone& zone) {
  constexpr size_t kDate = 10;  // 2026-11-02
  if (text.size() != kDate) return base::parse_rfc3339(text);
  const auto midnight = base::parse_rfc3339(std::string(text) + "T00:00:00Z");
  // Years of four digits, in UTC too.
  if (!midnight || text.starts_with("0000")) return std::nullopt;
  const int64_t local = base::to_millis(*midnight);
  const auto instant = zone.to_instant(local, base::TwiceRule::kEarlier);
  return instant ? *instant : after_gap(local, zone);
}

bool is_name(std::string_view text) {
  return !text.empty() && text.size() <= 64 && is_alnum(text.front()) &&
         std::all_of(text.begin(), text.end(),
                     [](char c) { return is_alnum(c) || c == '.' || c == '_' || c == '-'; });
}

bool is_label(std::string_view text) {
  return !text.empty() && text.size() <= 200 && base::trimmed(text).size() == text.size() &&
         std::none_of(text.begin(), text.end(), is_control);
}

bool is_address(std::string_view text) {
  unsigned char bytes[sizeof(in6_addr)];
  const std::string address(text);
  if (address.find('\0') != address.npos) return false;
  return inet_pton(AF_INET, address.c_str(), bytes) == 1 ||
         inet_pton(AF_INET6, address.c_str(), bytes) == 1;
}

bool is_pointer(std::string_view text) { return base::pointer_tokens(text).has_value(); }

std::optional<std::string_view> credential_of(std::string_view path) {
  constexpr std::string_view kMark = "credential:";
  return path.starts_with(kMark) ? std::optional(path.substr(kMark.size())) : std::nullopt;
}

bool is_credential_name(std::string_view name) {
  return !name.empty() && name != "." && name != ".." && name.find('/') == name.npos;
}

}  // namespace girdle::config
