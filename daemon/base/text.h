// Small questions about text. All of it bytes, UTF-8, and never the locale.
#pragma once

#include <concepts>
#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::base {

// Without spaces, tabs, CR and LF at either end.
std::string_view trimmed(std::string_view text);

// True for well-formed UTF-8 (RFC 3629): no overlong forms, no surrogates, nothing above U+10FFFF.
bool is_utf8(std::string_view text);

// The candidate that a person most likely meant, by edit distance; empty when none is near.
std::string_view nearest(std::string_view word, std::span<const std::string_view> candidates);

// For error texts: at most `limit` bytes, unprintable bytes as \xNN, "…" where it was cut.
std::string excerpt(std::string_view text, size_t limit = 60);

// The same in double quotes.
std::string in_quotes(std::string_view text, size_t limit = 60);

// "a, b and c"; with `last` = "or": "a, b or c".
std::string listed(std::span<const std::string_view> words, std::string_view last = "and");
template <std::same_as<std::string> Word>  // a template, so that {} is a list of the other kind
std::string listed(const std::vector<Word>& words, std::string_view last = "and") {
  const std::vector<std::string_view> views(words.begin(), words.end());
  return listed(std::span<const std::string_view>(views), last);
}

// "1 record", "3 records".
std::string counted(uint64_t count, std::string_view thing);

// Of ASCII.
constexpr bool is_digit(char c) { return c >= '0' && c <= '9'; }
constexpr bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }
constexpr bool is_hex(char c) { return is_digit(c) || (c >= 'a' && c <= 'f') || (c >= 'A' && c <= 'F'); }
constexpr bool is_control(char c) { return static_cast<unsigned char>(c) < ' ' || c == '\x7f'; }
constexpr bool is_visible(char c) { return c > ' ' && c < '\x7f'; }
constexpr char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }
// RFC 3986 2.3.
constexpr bool is_unreserved(char c) {
  return is_letter(c) || is_digit(c) || c == '-' || c == '.' || c == '_' || c == '~';
}

}  // namespace girdle::base
