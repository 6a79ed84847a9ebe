// The elements at a path in a part of the workbook, one at a time, however long the part is.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <string_view>

#include "sheet/package.h"

namespace pugi {
class xml_node;
}

namespace girdle::sheet {

// A part holds so many bytes in one element at most.
struct PartLimits {
  uint64_t max_element = 1 << 20;
};

// Prefixes do not count, neither in `path` nor in what the callers look for: producers choose them.
// `take` is called with the text of each; false from it ends that. Why the part cannot be read,
// with its name; empty where it was. A part without such elements is no fault.
using TakeElement = std::function<bool(std::string_view text)>;
std::string each_element(const Package& package, const std::string& part, std::string_view path,
                         const PartLimits& limits, const TakeElement& take);

// The same, taken apart.
using TakeNode = std::function<bool(pugi::xml_node element)>;
std::string each_node(const Package& package, const std::string& part, std::string_view path,
                      const PartLimits& limits, const TakeNode& take);

// The value of an attribute that has no prefix; empty where it is not there.
std::string_view attribute(pugi::xml_node element, const char* name);

// What an attribute or a cell says that is true or false (XML Schema, part 2, 3.2.2).
inline bool is_true(std::string_view value) { return value == "1" || value == "true"; }
inline bool is_false(std::string_view value) { return value == "0" || value == "false"; }

// The first child with such a name, prefix or not; none where there is none.
pugi::xml_node child(pugi::xml_node element, std::string_view local);

}  // namespace girdle::sheet
