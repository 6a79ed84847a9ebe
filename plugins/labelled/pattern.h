// Regular expressions of a reader's options: RE2, so that the time for a line grows with its length
// and no faster, and in a bounded memory.
//
// A pattern has to match a whole text, which is UTF-8. Safe to use from several threads at once.
#pragma once

#include <re2/re2.h>

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::labelled {

// What one pattern may take, compiled and while it runs.
constexpr int64_t kPatternBytes = 1 << 20;
constexpr size_t kMostPatterns = 32;  // in one option

using Patterns = std::vector<std::unique_ptr<const re2::RE2>>;

// One pattern a line; spaces around it and empty lines do not count. Nothing, and the reason for a
// shop's administrator in `refusal`, which begins with the option's name, where one cannot be used.
std::optional<Patterns> patterns(std::string_view option, std::string_view text,
                                 std::string& refusal);

// Whether the pattern matches all of the text; `groups` is filled with what its groups matched,
// as many as it has room for (0 is the whole), without bytes where a group took no part.
bool matches(const re2::RE2& pattern, std::string_view text, std::vector<re2::StringPiece>& groups);
bool matches_any(const Patterns& patterns, std::string_view text);

}  // namespace girdle::labelled
