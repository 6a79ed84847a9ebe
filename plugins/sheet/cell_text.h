// Texts of cells: ST_Xstring (ECMA-376, part 1, 22.9.2.19) and rich text (18.4.8, 18.3.1.53).
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace pugi {
class xml_node;
}

namespace girdle::sheet {

// Appends a text in which _x000D_ stands for the character of that number (of UTF-16), and _x005F_
// for an underscore that would begin such a thing. Half a surrogate pair stays as it is written.
void append_unescaped(std::string_view text, std::string& out);

// The text in an element, of all its pieces; without those of its child elements.
std::string plain_text(pugi::xml_node element);

// Appends what a string item or an inline string shows: its text, or its runs one after the other;
// not how it is spoken.
void append_shown(pugi::xml_node item, std::string& out);

// The shortest decimal that is the same binary number, without an exponent; nothing where it would
// be very long.
std::optional<std::string> shortest_decimal(double number);

// The number that a cell's value writes; nothing where it is none.
std::optional<double> number_of(std::string_view text);

}  // namespace girdle::sheet
