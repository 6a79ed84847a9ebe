#include "sheet/part_elements.h"

#include <pugixml.hpp>

#include "xml/element_tree.h"
#include "xml/xml_stream.h"

namespace girdle::sheet {

namespace {

class Taker final : public xml::ElementListener {
 public:
  explicit Taker(const TakeElement& take) : take_(take) {}

  void element(const xml::Element& element) override {
    if (!stopped()) enough_ = !take_(element.text);
  }
  // A part is read whole or not at all.
  void aside(uint64_t, uint64_t, uint64_t line, std::string_view reason) override {
    if (fault_.empty()) fault_ = "line " + std::to_string(line) + ": " + std::string(reason);
  }
  bool stopped() const override { return enough_ || !fault_.empty(); }
  const std::string& fault() const { return fault_; }

 private:
  const TakeElement& take_;
  bool enough_ = false;
  std::string fault_;
};

}  // namespace

std::string each_element(const Package& package, const std::string& part, std::string_view path,
                         const PartLimits& limits, const TakeElement& take) {
  xml::CutterSettings settings;
  settings.path.names = *xml::path_names(path);
  settings.path.any_prefix = true;
  settings.limit = limits.max_element;
  settings.may_be_absent = true;
  Taker taker(take);
  xml::XmlStream stream(settings, taker);
  std::string fault = package.read(part, [&](std::string_view bytes) {
    stream.feed(bytes);
    return !taker.stopped();
  });
  if (fault.empty() && !taker.stopped()) stream.finish();
  if (fault.empty()) fault = taker.fault();
  return fault.empty() ? fault : part + ": " + fault;
}

std::string each_node(const Package& package, const std::string& part, std::string_view path,
                      const PartLimits& limits, const TakeNode& take) {
  pugi::xml_document document;
  return each_element(package, part, path, limits, [&](std::string_view text) {
    xml::plant(text, document);
    return take(document.document_element());
  });
}

std::string_view attribute(pugi::xml_node element, const char* name) {
  return element.attribute(name).value();
}

pugi::xml_node child(pugi::xml_node element, std::string_view local) {
  for (const pugi::xml_node one : element.children()) {
    if (one.type() == pugi::node_element && xml::local_part(one.name()) == local) return one;
  }
  return {};
}

}  // namespace girdle::sheet
