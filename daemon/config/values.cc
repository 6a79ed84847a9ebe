#include "config/values.h"

#include <algorithm>
#include <charconv>

#include "base/text.h"

namespace girdle::config {
namespace {

using base::is_digit;

bool is_alnum(char c) { return is_digit(c) || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }
bool is_control(char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7F; }

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

bool is_name(std::string_view text) {
  return !text.empty() && text.size() <= 64 && is_alnum(text.front()) &&
         std::all_of(text.begin(), text.end(),
                     [](char c) { return is_alnum(c) || c == '.' || c == '_' || c == '-'; });
}

bool is_label(std::string_view text) {
  return !text.empty() && text.size() <= 200 && base::trimmed(text).size() == text.size() &&
         std::none_of(text.begin(), text.end(), is_control);
}

}  // namespace girdle::config
