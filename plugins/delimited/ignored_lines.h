// Lines that hold no results, and are to be skipped: letterheads, totals, page numbers. Nothing is
// skipped that no pattern matches as a whole.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>

namespace re2 {
class RE2;
}

namespace girdle::delimited {

class IgnoredLines {
 public:
  // RE2 patterns, one a line; spaces around one and empty lines do not count. Nothing, and the
  // reason for a shop's administrator in `refusal`, where one cannot be used.
  static std::optional<IgnoredLines> from(std::string_view patterns, std::string& refusal);

  bool none() const { return pattern_ == nullptr; }
  // `line` is UTF-8, without its end.
  bool match(std::string_view line) const;

 private:
  std::shared_ptr<const re2::RE2> pattern_;  // all of them, as alternatives
};

}  // namespace girdle::delimited
