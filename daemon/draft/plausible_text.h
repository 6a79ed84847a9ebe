// Which of several readings of the same bytes looks like text that a person wrote.
//
// Pure; any thread.
#pragma once

#include <string_view>

namespace girdle::draft {

// Higher is likelier: letters that stand among letters of their own script and case count for it,
// frames of boxes, control characters and mixtures against it. From memory of what text in a wrong
// encoding looks like; it orders candidates, and decides nothing. `text` is UTF-8.
int plausibility(std::string_view text);

}  // namespace girdle::draft
