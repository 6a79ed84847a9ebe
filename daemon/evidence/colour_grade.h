// The colour scale of colourless to light yellow diamonds: D to Z, D the least coloured. A trade scale in general use;
// common practice, no source.
#pragma once

#include <optional>
#include <string_view>

namespace girdle::evidence {

// 1 for "D" to 23 for "Z"; nothing for anything else: a range, a fancy colour, a word, a lower-case letter.
std::optional<int> colour_rank(std::string_view grade);

}  // namespace girdle::evidence
