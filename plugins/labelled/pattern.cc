#include "labelled/pattern.h"

#include <algorithm>
#include <utility>

#include "columns/text_lines.h"

namespace girdle::labelled {

namespace {

std::string fault_of(const re2::RE2& pattern) {
  if (pattern.error_code() == re2::RE2::ErrorPatternTooLarge) {
    return "takes more than " + std::to_string(kPatternBytes >> 10) +
           " KiB when it is compiled; fewer or smaller repetitions would be right";
  }
  return "is no regular expression of RE2: " + pattern.error();
}

}  // namespace

std::optional<Patterns> patterns(std::string_view option, std::string_view text,
                                 std::string& refusal) {
  re2::RE2::Options bounds;
  bounds.set_max_mem(kPatternBytes);
  bounds.set_log_errors(false);
  Patterns patterns;
  while (!text.empty()) {
    const size_t end = std::min(text.find_first_of("\r\n"), text.size());
    const std::string_view line = columns::without_outer_blanks(text.substr(0, end));
    text.remove_prefix(std::min(end + 1, text.size()));
    if (line.empty()) continue;
    auto pattern =
        std::make_unique<const re2::RE2>(re2::StringPiece(line.data(), line.size()), bounds);
    if (!pattern->ok()) {
      refusal = std::string(option) + ": " + columns::excerpt(line) + ' ' + fault_of(*pattern);
      return std::nullopt;
    }
    if (patterns.size() == kMostPatterns) {
      refusal = std::string(option) + ": at most " + std::to_string(kMostPatterns) +
                " patterns; join some with |";
      return std::nullopt;
    }
    patterns.push_back(std::move(pattern));
  }
  return patterns;
}

bool matches(const re2::RE2& pattern, std::string_view text,
             std::vector<re2::StringPiece>& groups) {
  return pattern.Match({text.data(), text.size()}, 0, text.size(), re2::RE2::ANCHOR_BOTH,
                       groups.data(), static_cast<int>(groups.size()));
}

bool matches_any(const Patterns& patterns, std::string_view text) {
  return std::any_of(patterns.begin(), patterns.end(), [&](const auto& pattern) {
    return pattern->Match({text.data(), text.size()}, 0, text.size(), re2::RE2::ANCHOR_BOTH,
                          nullptr, 0);
  });
}

}  // namespace girdle::labelled
