#include "xml/markup.h"

#include <algorithm>
#include <charconv>
#include <cstdint>
#include <utility>

#include "kit/text.h"
#include "xml/characters.h"

namespace girdle::xml {

namespace {

// The number of &#…; as production [66] has it, if it is a character's.
bool is_character_reference(std::string_view digits) {
  int base = 10;
  if (digits.starts_with('x')) {
    base = 16;
    digits.remove_prefix(1);
  }
  uint32_t point = 0;
  const char* end = digits.data() + digits.size();
  const auto [at, error] = std::from_chars(digits.data(), end, point, base);
  return error == std::errc() && at == end && is_character(point);
}

bool is_known_entity(std::string_view name) {
  return name == "lt" || name == "gt" || name == "amp" || name == "quot" || name == "apos";
}

}  // namespace

const std::string& TagParser::parse(std::string_view tag, std::string_view open,
                                    std::string_view close) {
  fault_.clear();
  attributes_.clear();
  std::string_view rest = tag.substr(std::min(open.size(), tag.size()));
  name_ = rest.substr(0, name_length(rest));
  rest.remove_prefix(name_.size());
  if (name_.empty()) {
    refuse("a tag without a name");
    return fault_;
  }
  rest.remove_suffix(std::min(close.size(), rest.size()));
  if (close == ">" && rest.ends_with('/')) rest.remove_suffix(1);
  while (attribute(rest)) continue;
  if (const std::string_view name = repeated(); !name.empty())
    refuse("the attribute " + kit::in_quotes(name) + " comes twice in one tag");
  return fault_;
}

// Takes the next one from `rest`; false where there is none or the tag is at fault.
bool TagParser::attribute(std::string_view& rest) {
  const std::string_view text = without_leading_space(rest);
  if (text.empty()) return false;
  if (text.size() == rest.size())
    return refuse("no white space before an attribute of " + kit::in_quotes(name_));
  const std::string_view name = text.substr(0, name_length(text));
  if (name.empty())
    return refuse("something in the tag " + kit::in_quotes(name_) + " is no attribute");
  std::string_view value = without_leading_space(text.substr(name.size()));
  if (!value.starts_with('='))
    return refuse("the attribute " + kit::in_quotes(name) + " has no value");
  value = without_leading_space(value.substr(1));
  const bool has_quote = value.starts_with('"') || value.starts_with('\'');
  const size_t end = has_quote ? value.find(value[0], 1) : std::string_view::npos;
  if (end == std::string_view::npos)
    return refuse("the value of the attribute " + kit::in_quotes(name) + " is not in quotes");
  attributes_.push_back({name, value.substr(1, end - 1)});
  if (std::string fault = reference_fault(attributes_.back().value); !fault.empty())
    return refuse(std::move(fault));
  rest = value.substr(end + 1);
  return true;
}

std::string_view TagParser::repeated() {
  names_.clear();
  for (const Attribute& one : attributes_) names_.push_back(one.name);
  std::sort(names_.begin(), names_.end());
  const auto twice = std::adjacent_find(names_.begin(), names_.end());
  return twice == names_.end() ? std::string_view() : *twice;
}

bool TagParser::refuse(std::string fault) {
  if (fault_.empty()) fault_ = "not well-formed XML: " + std::move(fault);
  return false;
}

std::optional<std::string_view> end_tag_name(std::string_view tag) {
  std::string_view rest = tag.substr(2, tag.size() - 3);
  const std::string_view name = rest.substr(0, name_length(rest));
  rest.remove_prefix(name.size());
  if (name.empty() || !without_leading_space(rest).empty()) return std::nullopt;
  return name;
}

std::string reference_fault(std::string_view text) {
  for (size_t at = text.find('&'); at != std::string_view::npos; at = text.find('&', at + 1)) {
    const std::string_view rest = text.substr(at + 1);
    const size_t end = rest.find(';');
    const std::string_view name = rest.substr(0, end);
    if (name.starts_with('#') && end != std::string_view::npos) {
      if (is_character_reference(name.substr(1))) continue;
      return "not well-formed XML: " + kit::in_quotes(text.substr(at, end + 2)) +
             " is no character's number";
    }
    if (end == std::string_view::npos || !is_name(name))
      return "not well-formed XML: a & that begins no reference; write &amp;";
    if (!is_known_entity(name)) {
      return "the entity " + kit::in_quotes(text.substr(at, end + 2)) +
             " is not declared; without a DTD there are lt, gt, amp, quot and apos";
    }
  }
  return {};
}

std::string text_fault(std::string_view text) {
  if (text.find("]]>") != std::string_view::npos)
    return "not well-formed XML: ]]> in text; write ]]&gt;";
  return reference_fault(text);
}

std::string comment_fault(std::string_view comment) {
  const std::string_view inside = comment.substr(4, comment.size() - 7);
  const bool dashes = inside.find("--") != std::string_view::npos || inside.ends_with('-');
  return dashes ? "not well-formed XML: -- in a comment" : "";
}

std::string instruction_fault(std::string_view instruction) {
  const std::string_view inside = instruction.substr(2, instruction.size() - 4);
  const size_t length = name_length(inside);
  if (length > 0 && (length == inside.size() || is_space(inside[length]))) return {};
  return "not well-formed XML: a processing instruction without a name";
}

bool is_declaration(std::string_view instruction) {
  const std::string_view inside = instruction.substr(2, instruction.size() - 4);
  if (inside.size() < 3 || name_length(inside) != 3) return false;
  return (inside[0] | 0x20) == 'x' && (inside[1] | 0x20) == 'm' && (inside[2] | 0x20) == 'l';
}

}  // namespace girdle::xml
