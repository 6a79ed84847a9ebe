// What a mapping takes of a text that is a GS1 code.
#pragma once

#include <span>
#include <string>
#include <string_view>

namespace girdle::reading {

// The data of the first of these application identifiers that the code has. False, with the reason
// (`holds "…", …`), where the text is no GS1 code, or has none of them.
bool take_gs1(std::string_view text, std::span<const std::string> identifiers, std::string& taken,
              std::string& reason);

}  // namespace girdle::reading
