// An element that was cut out of a document, as a tree of nodes. The texts in it are those of XML:
// references resolved, CDATA as text, line ends as LF (2.11), white space in attributes as spaces
// (3.3.3); comments and instructions are left out, white space is text.
#pragma once

#include <pugixml.hpp>
#include <string_view>

namespace girdle::xml {

// Puts the tree in the place of what `tree` held. `element` is UTF-8; where it is not well-formed
// the result says so, though not of every fault: pugixml is lenient. Memory that is not there is
// std::bad_alloc.
pugi::xml_parse_result plant(std::string_view element, pugi::xml_document& tree);

}  // namespace girdle::xml
