// Where the records are, and what beside them belongs to them: names of elements on a way.
//
// Names are compared as they are written, prefix and all (g:stone is not stone), except where
// `any_prefix` says that what stands before a colon does not count.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::xml {

// A name without its prefix.
std::string_view local_part(std::string_view name);

// What a record is to have besides: a way from the element so many levels above it.
struct ContextPath {
  size_t levels_up = 1;
  std::string element;  // the child element that holds it; empty for an attribute of that level
  std::string name;     // of the fields: ../../device/@serial
  bool may_be_missing = false;

  // True for the field itself and for what lies in it.
  bool leads_to(std::string_view field) const;
};

struct ElementPath {
  std::vector<std::string> names;  // of the outermost element first, of the record last
  std::vector<ContextPath> context;
  bool any_prefix = false;

  static constexpr size_t kMostNames = 32;

  // True where an element with this name is the one called `name` here.
  bool is(std::string_view written, std::string_view name) const;
};

// The names in /export/stones/stone; nothing where the text is no such path.
std::optional<std::vector<std::string>> path_names(std::string_view path);

// The ways in "../device/@serial, ../../site?", of records `depth` names deep; nothing where the
// text is no such list, has a way twice, or leads out of the document.
std::optional<std::vector<ContextPath>> context_paths(std::string_view list, size_t depth);

}  // namespace girdle::xml
