// Values as the configuration writes them. Pure.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "base/time.h"

namespace girdle::config {

// A whole number and nothing else: no sign but "-", no blanks.
std::optional<int64_t> parse_whole(std::string_view text);

// Bytes: `4096`, `64KiB`, `1MiB`, `2GiB`.
std::optional<uint64_t> parse_size(std::string_view text);

struct HostPort {
  std::string host;  // a name or an address, without the brackets of an IPv6 address
  uint16_t port = 0;
};
// `host:port`, the port from 1 to 65535; an IPv6 address stands in brackets.
std::optional<HostPort> parse_host_port(std::string_view text);

// `02`, `0d0a`: one to eight bytes, two hexadecimal digits each.
std::optional<std::string> parse_bytes(std::string_view text);

// Letters, digits, ".", "_" and "-", beginning with a letter or digit, at most 64.
bool is_name(std::string_view text);

// The tag of a language as RFC 5646 has it, for a natural language: subtags of letters and digits
// between hyphens, at most 35 characters. Nothing for another text. Letters get the usual case
// (2.1.1): pt-BR, zh-Hant-TW; tags that differ only in it are the same.
std::optional<std::string> language_tag(std::string_view text);

// A time of RFC 3339, or a date: where that day begins in the zone, also where its midnight does
// not come.
std::optional<base::Instant> parse_moment(std::string_view text, const base::Zone& zone);

// At most 200 bytes in one line: no control characters, no blanks around it, not empty.
bool is_label(std::string_view text);

// An IPv4 or IPv6 address (RFC 4291 2.2), without brackets and without a zone.
bool is_address(std::string_view text);

// RFC 6901 3: empty, or names each after a "/", in which ~0 and ~1 stand for "~" and "/".
bool is_pointer(std::string_view text);

// What stands behind `credential:`; nothing for another text.
std::optional<std::string_view> credential_of(std::string_view path);
// The name of one file.
bool is_credential_name(std::string_view name);

}  // namespace girdle::config
