// A line that is no result, as a pattern that fits the others of its kind.
//
// Pure; any thread.
#pragma once

#include <string>
#include <string_view>

namespace girdle::draft {

// Of RE2, for the whole line: numbers may be others, and a ruler of one mark may have any length.
// In a line that is not UTF-8 whatever lies beyond ASCII may be others too.
std::string pattern_for(std::string_view line);

// The pattern of this text and no other.
std::string quoted_for_pattern(std::string_view text);

// Dashes, asterisks and the like alone, at least three.
bool is_ruler(std::string_view line);

}  // namespace girdle::draft
