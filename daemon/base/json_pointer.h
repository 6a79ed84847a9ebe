// JSON Pointers (RFC 6901), as texts.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::base {

// What one reference token says: "~1" is "/" and "~0" is "~" (section 4). Nothing where another "~" stands in it.
std::optional<std::string> pointer_token(std::string_view escaped);

// All of a pointer's, from the front; none of "", which is the whole document. Nothing for a text that is no pointer.
std::optional<std::vector<std::string>> pointer_tokens(std::string_view pointer);

// The place in a list that a token names (section 4): digits without a leading zero. Nothing for any other token.
std::optional<size_t> pointer_place(std::string_view token);

}  // namespace girdle::base
