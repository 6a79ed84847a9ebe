// JSON Pointer (RFC 6901): the way to a value inside a document.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::json {

// The names on the way, unescaped; none for "", the document itself. Nothing where the text is no
// pointer.
std::optional<std::vector<std::string>> pointer_tokens(std::string_view pointer);

// Appends "/" and the name, with ~ and / written as ~0 and ~1.
void append_token(std::string_view name, std::string& pointer);

}  // namespace girdle::json
