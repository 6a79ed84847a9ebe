// An element as the fields of a record.
//
// Names are ways from the record, as XPath has them: @id is an attribute of the record, weight a
// child element that holds text, weight/@unit an attribute of it, result/code what lies deeper, "."
// the text of a record without child elements. ../@serial is an attribute of the element around the
// record, ../../site what the option context asks for. Texts are those of XML: references resolved,
// CDATA as text, line ends as LF (2.11), white space in attributes as spaces (3.3.3), comments and
// instructions left out; nothing is trimmed. Declarations of prefixes (xmlns) are no fields.
#pragma once

#include <cstdint>
#include <optional>
#include <pugixml.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "girdle/reader.h"
#include "xml/element_cutter.h"

namespace girdle::xml {

enum class Repeated { kRefused, kNumbered };

// The fields of one element, lent until the next one is read.
class ElementTexts {
 public:
  ElementTexts(size_t max_fields, Repeated repeated)
      : max_fields_(max_fields), repeated_(repeated) {}

  // `element` is well-formed, `base` the way to it; empty for the record itself. The reason where
  // it cannot be taken apart.
  std::optional<std::string> read(std::string_view element, std::string_view base);
  // Its attributes alone.
  std::optional<std::string> read_attributes(std::string_view element, std::string_view base);

  size_t size() const { return values_.size(); }
  // The names, each ended by a NUL; no name of XML holds one.
  const std::string& names() const { return names_; }
  const std::vector<std::string_view>& values() const { return values_; }

 private:
  bool load(std::string_view element, std::string_view base);
  void attributes(pugi::xml_node node);
  void content(pugi::xml_node node);
  void children(pugi::xml_node node);
  void child(pugi::xml_node node);
  std::string_view text_of(pugi::xml_node node);
  void add(std::string_view way, std::string_view name, std::string_view value);
  bool refuse(std::string fault);

  const size_t max_fields_;
  const Repeated repeated_;
  pugi::xml_document document_;
  std::string way_;  // to the element at hand
  std::string names_;
  size_t names_limit_ = 0;
  std::vector<std::string_view> values_;
  std::string
      joined_;  // texts that stand in several pieces; never grows while values point into it
  std::optional<std::string> fault_;
};

class ElementFields {
 public:
  ElementFields(const ElementPath& path, size_t max_fields, Repeated repeated)
      : path_(path), max_fields_(max_fields), repeated_(repeated), texts_(max_fields, repeated) {}

  // The reason where no record can be made of it. What the getters lend is valid until the next
  // call.
  std::optional<std::string> read(const Element& element);

  const std::vector<girdle_text>& names() const { return names_; }
  const std::vector<girdle_text>& values() const { return values_; }
  // As in girdle_record: stays as long as the names do.
  uint32_t layout() const { return layout_; }

 private:
  std::optional<std::string> read_around(const Envelope& envelope);
  std::optional<std::string> read_level(const Level& level, size_t levels_up);
  template <class Wanted>
  void take_around(const ElementTexts& texts, Wanted wanted);
  std::optional<std::string> missing() const;
  void set_names();

  const ElementPath& path_;
  const size_t max_fields_;
  const Repeated repeated_;
  ElementTexts texts_;

  uint64_t version_ = 0;  // of the envelope that `around` was made from
  std::string around_names_;
  std::vector<std::string> around_values_;
  std::optional<std::string> around_fault_;

  std::string all_names_;  // each ended by a NUL
  std::vector<girdle_text> names_;
  std::vector<girdle_text> values_;
  uint32_t layout_ = 0;
  uint32_t layouts_ = 0;  // given so far
};

}  // namespace girdle::xml
