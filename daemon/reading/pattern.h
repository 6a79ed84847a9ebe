// A mapping's pattern, and what is taken of a text that it matches.
#pragma once

#include <re2/re2.h>

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/mapping.h"
#include "reading/fault.h"

namespace girdle::reading {

// The syntax is RE2's, so matching takes time in proportion to the text, whatever the pattern. Used
// by one thread at a time.
class Pattern {
 public:
  // Bytes, for the compiled pattern and what it learns of texts; one that needs more is refused.
  static constexpr int64_t kMaxMemory = 1 << 20;
  // Bytes; no pattern matches a longer text.
  static constexpr size_t kMaxText = 64 << 10;

  // Of `match` and `take`. Nothing where one is wrong, and then why, with its place.
  static std::unique_ptr<Pattern> compile(const model::FieldRule& source, Faults& faults);

  // What is taken, where the whole text matches; it lies in the text, or in `scratch`.
  std::optional<std::string_view> take(std::string_view text, std::string& scratch);

 private:
  // Of what is taken: a text as it stands, or a group.
  struct Part {
    std::string text;
    size_t group = kNoGroup;
  };
  static constexpr size_t kNoGroup = SIZE_MAX;

  Pattern(const std::string& match, const RE2::Options& options) : pattern_(match, options) {}
  bool set_take(std::string_view take, std::string& wrong);
  bool take_only_group(std::string& wrong);
  bool add_escape(std::string_view& rest, std::string& wrong);
  void add_text(char c);

  RE2 pattern_;
  std::vector<Part> parts_;
  std::vector<re2::StringPiece> groups_;  // as many as `parts_` ask for
};

}  // namespace girdle::reading
