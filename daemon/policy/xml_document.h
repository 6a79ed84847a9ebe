// An XML text, read within bounds, with the places and namespaces of its elements. Private to
// policy/.
#pragma once

#include <optional>
#include <pugixml.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "policy/table_spec.h"

namespace girdle::policy {

class XmlDocument {
 public:
  struct Limits {
    size_t bytes;
    int depth;
    size_t nodes;
    size_t attributes;  // of one element: namespaces are looked for among them
  };

  // Nothing, or what is wrong with it. `text` must outlive the document.
  std::optional<Problem> read(std::string_view text, const Limits& limits);

  pugi::xml_node root() const { return document_.document_element(); }
  Mark mark(pugi::xml_node node) const;

  // Without its prefix.
  static std::string_view local_name(pugi::xml_node node);
  // What the prefix stands for there; an empty prefix for the default namespace. Empty where it is
  // not declared.
  static std::string_view namespace_of(pugi::xml_node node, std::string_view prefix);
  static std::string_view namespace_of(pugi::xml_node node);
  // All of an element's own text, CDATA too.
  static std::string text_of(pugi::xml_node node);

 private:
  static constexpr size_t kBlock = 1024;
  size_t characters_before(size_t offset) const;
  Mark mark_at(size_t offset) const;
  std::optional<Problem> check_shape(const Limits& limits) const;
  std::optional<Problem> check_tree(const Limits& limits) const;

  std::string_view text_;
  std::vector<size_t> lines_;   // where each begins
  std::vector<size_t> blocks_;  // characters before each block of kBlock bytes
  pugi::xml_document document_;
};

}  // namespace girdle::policy
