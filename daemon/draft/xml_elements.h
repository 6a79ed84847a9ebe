// Which elements an XML document has, and where: enough to see which of them repeats like a record.
// No XML processor: what is well-formed, the reader says.
//
// Pure; any thread.
#pragma once

#include <cstddef>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::draft {

// All elements that one way of names leads to.
struct XmlElements {
  std::vector<std::string> path;  // the outermost element's name first
  size_t count = 0;
  size_t parents = 0;                // elements that hold at least one of them
  std::set<std::string> attributes;  // without declarations of prefixes; the first thousand
  bool holds_text = false;           // text that is not blank, and no child elements
  bool repeats_children = false;     // two child elements of one name in one element
  size_t first_at = 0;               // in the text
};

// In the order in which they come first; nothing where the tags do not fit, or there are none.
std::optional<std::vector<XmlElements>> xml_elements(const std::vector<std::string>& texts);

}  // namespace girdle::draft
