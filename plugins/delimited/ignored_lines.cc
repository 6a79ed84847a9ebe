#include "delimited/ignored_lines.h"

#include <re2/re2.h>

#include <algorithm>

namespace girdle::delimited {

namespace {

constexpr int64_t kMostMemory = 1 << 20;  // of the compiled patterns and while they run
constexpr size_t kLongest = 4096;         // bytes of the option

re2::RE2::Options quiet() {
  re2::RE2::Options options;
  options.set_log_errors(false);
  options.set_max_mem(kMostMemory);
  options.set_never_capture(true);
  return options;
}

std::string_view without_spaces(std::string_view text) {
  const size_t begin = text.find_first_not_of(" \t\r");
  if (begin == std::string_view::npos) return {};
  return text.substr(begin, text.find_last_not_of(" \t\r") - begin + 1);
}

}  // namespace

std::optional<IgnoredLines> IgnoredLines::from(std::string_view patterns, std::string& refusal) {
  IgnoredLines ignored;
  if (patterns.size() > kLongest) {
    refusal = "ignore: longer than " + std::to_string(kLongest) + " bytes";
    return std::nullopt;
  }
  std::string all;
  while (!patterns.empty()) {
    const size_t end = std::min(patterns.find('\n'), patterns.size());
    const std::string one(without_spaces(patterns.substr(0, end)));
    patterns.remove_prefix(std::min(end + 1, patterns.size()));
    if (one.empty()) continue;
    // Each by itself first: what is wrong in one must not find its missing half in another.
    const re2::RE2 checked(one, quiet());
    if (!checked.ok()) {
      refusal = "ignore: \"" + one + "\" is no pattern of RE2: " + checked.error();
      return std::nullopt;
    }
    all += (all.empty() ? "(?:" : "|(?:") + one + ")";
  }
  if (all.empty()) return ignored;
  ignored.pattern_ = std::make_shared<const re2::RE2>(all, quiet());
  if (ignored.pattern_->ok()) return ignored;
  refusal = "ignore: the patterns are together too large";
  return std::nullopt;
}

bool IgnoredLines::match(std::string_view line) const {
  return pattern_ && re2::RE2::FullMatch({line.data(), line.size()}, *pattern_);
}

}  // namespace girdle::delimited
