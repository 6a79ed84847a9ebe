// Where in JSON documents records may lie: each array of objects, and the document itself, with the
// members of its objects and of the objects around them.
//
// Pure; any thread.
#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::draft {

// The members of objects that hold a single value, each with how many of the objects have it; of
// objects with different members each, the first thousand.
using Members = std::map<std::string, size_t>;

struct JsonLevel {
  std::string pointer;  // as the option `records`: "/sessions/-/runs"; empty: the document
  size_t objects = 0;
  Members members;  // of the objects themselves, nested ones by their way
  bool is_array = false;
  // The objects around them that are so many steps away, with what stands in them before the
  // records.
  struct Around {
    size_t objects = 0;
    Members members;  // as tokens of a JSON Pointer: "operator", "device/serial"
  };
  std::vector<Around> around;  // the nearest first
};

struct JsonLevels {
  std::vector<JsonLevel> levels;  // outer before inner
  bool are_lines = false;         // one object a line
};

// A member's name as a token of a JSON Pointer (RFC 6901, 3).
std::string json_token(std::string_view name);

// Nothing where one of the texts is no JSON of objects.
std::optional<JsonLevels> json_levels(const std::vector<std::string>& texts);

}  // namespace girdle::draft
