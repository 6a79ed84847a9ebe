#include "policy/xml_document.h"

#include <algorithm>
#include <iterator>

#include "base/text.h"

namespace girdle::policy {
namespace {

bool is_utf8_name(std::string_view name) {
  std::string lower(name);
  std::ranges::transform(lower, lower.begin(), [](char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
  });
  return lower.empty() || lower == "utf-8" || lower == "utf8" || lower == "us-ascii";
}

size_t count_characters(std::string_view text) {
  return static_cast<size_t>(std::ranges::count_if(
      text, [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
}

}  // namespace

std::optional<Problem> XmlDocument::read(std::string_view text, const Limits& limits) {
  text_ = text;
  if (text.size() > limits.bytes) {
    return Problem{{}, "the file is larger than " + std::to_string(limits.bytes >> 20) + " MiB"};
  }
  if (!base::is_utf8(text)) return Problem{{}, "the file is not UTF-8; write it out as UTF-8"};
  lines_ = {0};
  for (size_t at = text.find('\n'); at != std::string_view::npos; at = text.find('\n', at + 1)) {
    lines_.push_back(at + 1);
  }
  blocks_ = {0};
  for (size_t at = 0; at + kBlock <= text.size(); at += kBlock) {
    blocks_.push_back(blocks_.back() + count_characters(text.substr(at, kBlock)));
  }
  const unsigned flags = pugi::parse_default | pugi::parse_declaration | pugi::parse_doctype;
  const auto parsed = document_.load_buffer(text.data(), text.size(), flags, pugi::encoding_utf8);
  if (!parsed) {
    return Problem{mark_at(static_cast<size_t>(std::max<std::ptrdiff_t>(parsed.offset, 0))),
                   std::string("it is no well-formed XML: ") + parsed.description()};
  }
  return check_shape(limits);
}

std::optional<Problem> XmlDocument::check_shape(const Limits& limits) const {
  for (const pugi::xml_node node : document_.children()) {
    if (node.type() == pugi::node_doctype) {
      return Problem{mark(node), "a document type (DOCTYPE) is not read; remove it"};
    }
    if (node.type() == pugi::node_declaration &&
        !is_utf8_name(node.attribute("encoding").value())) {
      return Problem{mark(node), "the file says that it is not UTF-8; write it out as UTF-8"};
    }
  }
  if (!root()) return Problem{{}, "it has no element"};
  return check_tree(limits);
}

std::optional<Problem> XmlDocument::check_tree(const Limits& limits) const {
  // Step by step, not by recursion: the depth is what is to be checked.
  size_t count = 0;
  int depth = 1;
  for (pugi::xml_node node = root(); node;) {
    if (++count > limits.nodes) return Problem{mark(node), "it has more than a million nodes"};
    if (depth > limits.depth) {
      return Problem{mark(node), "elements stand deeper than " + std::to_string(limits.depth) +
                                     " in each other"};
    }
    if (std::distance(node.attributes_begin(), node.attributes_end()) >
        static_cast<std::ptrdiff_t>(limits.attributes)) {
      return Problem{mark(node), "an element has more than " + std::to_string(limits.attributes) +
                                     " attributes"};
    }
    if (node.first_child()) {
      node = node.first_child();
      ++depth;
      continue;
    }
    while (depth > 1 && !node.next_sibling()) {
      node = node.parent();
      --depth;
    }
    if (depth == 1) break;
    node = node.next_sibling();
  }
  return std::nullopt;
}

Mark XmlDocument::mark(pugi::xml_node node) const {
  const std::ptrdiff_t offset = node.offset_debug();
  return offset < 0 ? Mark{} : mark_at(static_cast<size_t>(offset));
}

// A file may be one line: no count begins at a line's beginning.
size_t XmlDocument::characters_before(size_t offset) const {
  const size_t block = offset / kBlock;
  return blocks_[block] + count_characters(text_.substr(block * kBlock, offset - block * kBlock));
}

Mark XmlDocument::mark_at(size_t offset) const {
  offset = std::min(offset, text_.size());
  const auto line = std::upper_bound(lines_.begin(), lines_.end(), offset) - 1;
  const size_t characters = characters_before(offset) - characters_before(*line);
  return {static_cast<int>(line - lines_.begin()) + 1, static_cast<int>(characters) + 1};
}

std::string_view XmlDocument::local_name(pugi::xml_node node) {
  const std::string_view name = node.name();
  return name.substr(name.find(':') + 1);
}

std::string_view XmlDocument::namespace_of(pugi::xml_node node, std::string_view prefix) {
  const std::string wanted = prefix.empty() ? "xmlns" : "xmlns:" + std::string(prefix);
  for (; node; node = node.parent()) {
    if (const auto attribute = node.attribute(wanted.c_str())) return attribute.value();
  }
  return {};
}

std::string_view XmlDocument::namespace_of(pugi::xml_node node) {
  const std::string_view name = node.name();
  const size_t colon = name.find(':');
  return namespace_of(node,
                      colon == std::string_view::npos ? std::string_view() : name.substr(0, colon));
}

std::string XmlDocument::text_of(pugi::xml_node node) {
  std::string out;
  for (const pugi::xml_node child : node.children()) {
    if (child.type() == pugi::node_pcdata || child.type() == pugi::node_cdata) out += child.value();
  }
  return out;
}

}  // namespace girdle::policy
