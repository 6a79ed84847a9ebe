// Whole pieces of markup and text, checked against the grammar of XML 1.0 (fifth edition). Pieces
// are UTF-8 as MarkupScanner cut them; that their characters are XML's is asked apart
// (characters.h).
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::xml {

// An attribute as it is written: the value without its quotes, references not resolved.
struct Attribute {
  std::string_view name;
  std::string_view value;
};

// Takes tags apart. One for many tags, so that memory is used again.
class TagParser {
 public:
  // <name a="…" …>, <name …/> or, with `open` and `close` in the place of "<" and ">", the like.
  // Why it is not well-formed (3.1: names, attributes set apart by white space, quoted values, no
  // attribute twice); empty where it is. What the getters lend is valid until the tag goes or the
  // next call.
  const std::string& parse(std::string_view tag, std::string_view open = "<",
                           std::string_view close = ">");

  // Empty where the tag begins with no name.
  std::string_view name() const { return name_; }
  const std::vector<Attribute>& attributes() const { return attributes_; }

 private:
  bool attribute(std::string_view& rest);
  bool refuse(std::string fault);
  std::string_view repeated();

  std::string_view name_;
  std::vector<Attribute> attributes_;
  std::vector<std::string_view> names_;  // sorted
  std::string fault_;
};

// The name in </name >; nothing where that is not what it is.
std::optional<std::string_view> end_tag_name(std::string_view tag);

// Why it is not well-formed; empty where it is. Text: 2.4; references: 4.1, with the five entities
// of 4.6 alone, because there is no document type declaration; comment: 2.5; instruction: 2.6.
std::string text_fault(std::string_view text);
std::string reference_fault(std::string_view text);
std::string comment_fault(std::string_view comment);
std::string instruction_fault(std::string_view instruction);

// True for <?xml … ?> in any case of letters, which may stand at a document's beginning alone
// (2.6).
bool is_declaration(std::string_view instruction);

}  // namespace girdle::xml
