#include "xml/element_fields.h"

#include <algorithm>
#include <utility>

#include "kit/text.h"
#include "xml/characters.h"
#include "xml/element_tree.h"

namespace girdle::xml {

namespace {

bool is_text(pugi::xml_node node) {
  return node.type() == pugi::node_pcdata || node.type() == pugi::node_cdata;
}

bool is_element(pugi::xml_node node) { return node.type() == pugi::node_element; }

bool is_blank(std::string_view text) { return without_leading_space(text).empty(); }

// Namespaces in XML 1.0, 3: such an attribute says what a prefix stands for, and is no data.
bool declares_prefix(std::string_view name) {
  return name == "xmlns" || name.starts_with("xmlns:");
}

size_t place_among_namesakes(pugi::xml_node node) {
  size_t place = 1;
  const std::string_view name = node.name();
  for (pugi::xml_node before = node.previous_sibling(); before; before = before.previous_sibling())
    place += name == before.name();
  return place;
}

}  // namespace

std::optional<std::string> ElementTexts::read(std::string_view element, std::string_view base) {
  if (load(element, base)) {
    attributes(document_.document_element());
    content(document_.document_element());
  }
  return fault_;
}

std::optional<std::string> ElementTexts::read_attributes(std::string_view element,
                                                         std::string_view base) {
  if (load(element, base)) attributes(document_.document_element());
  return fault_;
}

bool ElementTexts::load(std::string_view element, std::string_view base) {
  fault_.reset();
  way_ = base;
  names_.clear();
  values_.clear();
  joined_.clear();
  joined_.reserve(element.size());
  // Names repeat the way to them; this bounds them.
  names_limit_ = 8 * element.size() + 4096;
  const pugi::xml_parse_result result = plant(element, document_);
  if (!result) return refuse(std::string("not well-formed XML: ") + result.description());
  return true;
}

void ElementTexts::attributes(pugi::xml_node node) {
  for (const pugi::xml_attribute one : node.attributes()) {
    if (fault_) return;
    if (!declares_prefix(one.name())) add(way_, std::string("@") + one.name(), one.value());
  }
}

void ElementTexts::content(pugi::xml_node node) {
  const auto elements = node.children();
  const bool has_children = std::any_of(elements.begin(), elements.end(), is_element);
  if (has_children) {
    children(node);
  } else if (way_.empty()) {
    add({}, ".", text_of(node));
  } else {
    add({}, way_, text_of(node));
  }
}

void ElementTexts::children(pugi::xml_node node) {
  for (const pugi::xml_node one : node.children()) {
    if (fault_) return;
    if (is_element(one)) {
      child(one);
    } else if (is_text(one) && !is_blank(one.value())) {
      refuse("text beside the child elements of " + kit::in_quotes(node.name()) +
             "; an element holds either text or elements");
    }
  }
}

void ElementTexts::child(pugi::xml_node node) {
  const size_t place = place_among_namesakes(node);
  if (place > 1 && repeated_ == Repeated::kRefused) {
    refuse("the element " + kit::in_quotes(node.name()) +
           " comes twice in one element; say repeated: number to read both");
    return;
  }
  const size_t before = way_.size();
  if (!way_.empty()) way_ += '/';
  way_ += node.name();
  if (place > 1) way_ += "[" + std::to_string(place) + "]";
  attributes(node);
  if (!fault_) content(node);
  way_.resize(before);
}

std::string_view ElementTexts::text_of(pugi::xml_node node) {
  const pugi::xml_node first = node.first_child();
  if (!first || !first.next_sibling()) return first.value();
  const size_t begin = joined_.size();
  for (const pugi::xml_node one : node.children()) joined_ += one.value();
  return std::string_view(joined_).substr(begin);
}

void ElementTexts::add(std::string_view way, std::string_view name, std::string_view value) {
  if (values_.size() == max_fields_) {
    refuse("more than " + std::to_string(max_fields_) + " fields");
  } else if (way.size() + name.size() + 2 > names_limit_ - names_.size()) {
    refuse("the names of nested fields are together too long");
  } else {
    names_ += way;
    if (!way.empty()) names_ += '/';
    names_ += name;
    names_ += '\0';
    values_.push_back(value);
  }
}

bool ElementTexts::refuse(std::string fault) {
  if (!fault_) fault_ = std::move(fault);
  return false;
}

std::optional<std::string> ElementFields::read(const Element& element) {
  if (version_ != element.envelope.version()) around_fault_ = read_around(element.envelope);
  if (around_fault_) return around_fault_;
  if (auto fault = texts_.read(element.text, {})) return fault;
  if (texts_.size() + around_values_.size() > max_fields_)
    return "more than " + std::to_string(max_fields_) + " fields";
  set_names();
  values_.clear();
  for (const std::string_view value : texts_.values()) values_.push_back(kit::lend(value));
  for (const std::string& value : around_values_) values_.push_back(kit::lend(value));
  return std::nullopt;
}

// Names mostly are those of the record before.
void ElementFields::set_names() {
  const size_t own = texts_.names().size();
  if (all_names_.size() == own + around_names_.size() && all_names_.starts_with(texts_.names()) &&
      all_names_.ends_with(around_names_) && layouts_ > 0)
    return;
  all_names_ = texts_.names() + around_names_;
  layout_ = layouts_ == UINT32_MAX ? 0 : ++layouts_;
  names_.clear();
  for (std::string_view rest = all_names_; !rest.empty();) {
    const std::string_view name = rest.substr(0, rest.find('\0'));
    names_.push_back(kit::lend(name));
    rest.remove_prefix(name.size() + 1);
  }
}

// What the open elements give to every record in them; the nearest first.
std::optional<std::string> ElementFields::read_around(const Envelope& envelope) {
  version_ = envelope.version();
  around_names_.clear();
  around_values_.clear();
  const std::vector<Level>& levels = envelope.levels();
  for (size_t up = 1; up <= levels.size(); ++up) {
    if (auto fault = read_level(levels[levels.size() - up], up))
      return "the elements around the record: " + *fault;
  }
  return missing();
}

std::optional<std::string> ElementFields::read_level(const Level& level, size_t levels_up) {
  ElementTexts texts(max_fields_, repeated_);
  std::string way = "..";
  for (size_t up = 1; up < levels_up; ++up) way += "/..";
  const std::string empty = level.tag.substr(0, level.tag.size() - 1) + "/>";
  if (auto fault = texts.read_attributes(empty, way)) return fault;
  take_around(texts, [](std::string_view) { return true; });
  for (const ContextElement& one : level.context) {
    if (auto fault = texts.read(one.text, way + "/" + one.name)) return fault;
    take_around(texts, [this](std::string_view name) {
      return std::any_of(path_.context.begin(), path_.context.end(),
                         [name](const ContextPath& path) { return path.leads_to(name); });
    });
  }
  return std::nullopt;
}

template <class Wanted>
void ElementFields::take_around(const ElementTexts& texts, Wanted wanted) {
  std::string_view names = texts.names();
  for (const std::string_view value : texts.values()) {
    const std::string_view name = names.substr(0, names.find('\0'));
    names.remove_prefix(name.size() + 1);
    if (!wanted(name)) continue;
    around_names_.append(name).push_back('\0');
    around_values_.emplace_back(value);
  }
}

// What the option context asks for in vain.
std::optional<std::string> ElementFields::missing() const {
  for (const ContextPath& path : path_.context) {
    bool found = path.may_be_missing;
    for (std::string_view rest = around_names_; !found && !rest.empty();) {
      const std::string_view name = rest.substr(0, rest.find('\0'));
      found = path.leads_to(name);
      rest.remove_prefix(name.size() + 1);
    }
    if (!found)
      return "there is no \"" + path.name + "\" before the record, as the option context asks";
  }
  return std::nullopt;
}

}  // namespace girdle::xml
