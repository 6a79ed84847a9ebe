// Text as printed slips: lines of a label and a value, what ends a slip, and what is neither.
//
// Pure; any thread.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::draft {

struct SlipShape {
  std::string labels;  // the pattern of lines with a label; empty: a colon or equals sign ends it
  std::string end;     // the pattern of lines that end a slip; empty: none does
  std::string end_seen;
  std::vector<std::string> ignore;  // patterns of lines that have no label and end nothing
  size_t ignored = 0;               // lines
  size_t labelled = 0;              // lines
  size_t continued = 0;             // lines, indented deeper than the label before them
  size_t slips = 0;
  bool last_is_unended = false;
  bool differs_in_case = false, differs_in_space = false;  // labels that are otherwise one
  std::vector<std::string> distinct_labels;
};

// Nothing where most lines have no label.
std::optional<SlipShape> slip_shape(const std::vector<std::string>& texts);

}  // namespace girdle::draft
