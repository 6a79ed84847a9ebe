// Texts that people give: what may stand in one, and how it is said that something may not.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

namespace girdle::api {

// What is wrong with a text of 1 to `most` bytes that a person is going to see: it is empty, or nothing but blanks; too
// long; not UTF-8; it holds control characters (of ASCII or ISO 8859-1), line separators, or characters that turn the
// direction of the text around them. Nothing: it is right.
std::optional<std::string> wrong_with_text(std::string_view text, size_t most);

std::string wrong_time_text(std::string_view name, std::string_view given);

}  // namespace girdle::api
