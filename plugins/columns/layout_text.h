// The notation of the options `fields` and `ignore`, told in README.md.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "columns/layout.h"

namespace girdle::columns {

class LayoutText {
 public:
  // No position may lie beyond `longest`. What is wrong goes to `refusal`, which lives longer than
  // this.
  LayoutText(uint64_t longest, std::string& refusal) : longest_(longest), refusal_(refusal) {}

  // The kinds of lines, each right by itself. Nothing after a refusal.
  std::optional<std::vector<LineKind>> kinds(std::string_view fields);
  std::optional<std::vector<std::string>> prefixes(std::string_view ignore);

 private:
  bool read_kind(std::string_view text, LineKind& kind);
  bool read_prefix(std::string_view& text, LineKind& kind);
  bool read_field(std::string_view text, LineKind& kind);
  bool fill_gaps(LineKind& kind);
  bool refuse(std::string reason) {
    refusal_ = std::move(reason);
    return false;
  }

  const uint64_t longest_;
  std::string& refusal_;
};

}  // namespace girdle::columns
