// The lines of a text.
//
// Pure; views are into the text.
#pragma once

#include <string_view>
#include <vector>

namespace girdle::draft {

// Without their ends; the first is line 1. CR LF, LF and CR end lines. A last line without its end
// is one; what follows the last end is none where it is empty.
std::vector<std::string_view> lines_of(std::string_view text);

// Spaces and tabs alone, or nothing.
bool is_blank(std::string_view line);

}  // namespace girdle::draft
