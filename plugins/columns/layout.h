// Which positions of which lines hold which field: the option `fields`, understood. Its notation:
// README.md.
//
// Positions are counted from 1; what one is (a character, a byte) is not known here.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::columns {

constexpr uint64_t kToLineEnd = UINT64_MAX;

struct Range {
  uint64_t first = 1;
  uint64_t last = 1;  // inclusive; kToLineEnd: whatever the line's length is
};

// A stretch of positions that is dealt with as one.
struct Segment {
  enum class Use {
    kField,
    kUnused,  // named "-": may hold anything
    kGap,     // in no field: has to be blank
  };
  Range at;
  Use use = Use::kGap;
  size_t field = 0;  // kField: index into the kind's names
};

// Lines that begin alike.
struct LineKind {
  std::string prefix;    // empty: lines with no other known beginning
  bool carried = false;  // no record; its fields belong to the records that follow
  std::vector<std::string> names;
  std::vector<Segment> segments;  // ascending, from position 1 to kToLineEnd without a hole

  // As in the notation: 'H', or "line" without a prefix.
  std::string title() const;
};

struct Layout {
  std::vector<LineKind> kinds;
  std::vector<std::string> ignored;  // prefixes of lines that are no results

  // Nothing, and the reason for a shop's administrator in `refusal`, where the texts are not of the
  // notation or contradict themselves. `longest`: no line has more positions.
  static std::optional<Layout> from(std::string_view fields, std::string_view ignore,
                                    uint64_t longest, std::string& refusal);

  enum class Found { kNothing, kIgnored, kKind };
  struct Match {
    Found found = Found::kNothing;
    size_t kind = 0;
  };
  // By the longest beginning that fits.
  Match match(std::string_view line) const;
};

}  // namespace girdle::columns
