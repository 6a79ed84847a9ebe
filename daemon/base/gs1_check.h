// The two checks that GS1 keys carry at their end (GS1 General Specifications, 7.9).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace girdle::base {

// The check digit that follows these digits: weights 3 and 1 by turns from the right, to the next
// ten. Only of digits.
char gs1_check_digit(std::string_view digits);

// The place of a character in GS1's character set 82 (of 82 characters, in the order of ISO 646);
// nothing for any other.
std::optional<uint8_t> gs1_place_in_set_82(char c);

// The two check characters that follow this text, as in a global model number: modulo 1021. Nothing
// for a text of over 23 characters, or with others than those of set 82.
std::optional<std::string> gs1_check_pair(std::string_view text);

}  // namespace girdle::base
