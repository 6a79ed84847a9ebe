#include "delivery/xml_body.h"

#include <algorithm>
#include <variant>
#include <vector>

#include "base/text.h"
#include "delivery/leaf.h"
#include "delivery/own_body.h"
#include "delivery/xml_text.h"

namespace girdle::delivery {
namespace {

using base::in_quotes;

constexpr std::string_view kProlog = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n";

// The text of a message with holes in it. Around a hole stands what is left out with its value.
class XmlBody final : public OwnBody {
 public:
  explicit XmlBody(std::string list) : list_(std::move(list)) {}

  std::string_view content_type() const override { return "application/xml; charset=utf-8"; }
  std::string_view extension() const override { return "xml"; }

  void begin(std::string& out) override {
    out += kProlog;
    if (!list_.empty()) out.append("<").append(list_).append(">\n");
  }
  void end(std::string& out) override {
    if (!list_.empty()) out.append("</").append(list_).append(">\n");
  }

 protected:
  base::Result<void> write(std::string& out, const ParsedEvent& event) override {
    for (const Hole& hole : holes_) {
      out += hole.before;
      const auto value = hole.leaf.value(event, scratch_);
      if (!value) return value.error();
      if (value->kind == Value::Kind::kNone) continue;
      if (const auto unfit = first_unfit_for_xml(value->text)) {
        return base::input_error(hole.leaf.name() + ": " + in_quotes(value->text) +
                                 " has a character that XML cannot hold, byte " +
                                 std::to_string(*unfit + 1));
      }
      out += hole.open;
      if (hole.in_attribute) {
        append_xml_attribute(out, value->text);
      } else {
        append_xml_text(out, value->text);
      }
      out += hole.close;
    }
    out += end_;
    return {};
  }

 private:
  friend class XmlCompiler;
  struct Hole {
    std::string before;       // always there
    std::string open, close;  // there with the value
    bool in_attribute = false;
    Leaf leaf;
  };

  const std::string list_;
  std::vector<Hole> holes_;
  std::string end_;
  std::string scratch_;
};

using Members = std::vector<std::pair<config::Text, config::Tree>>;

class XmlCompiler {
 public:
  XmlCompiler(const base::Zone& zone, const config::Report& report)
      : zone_(zone), report_(report) {}

  std::unique_ptr<Body> compile(const config::Body& body, bool holds_several) {
    const size_t before = report_.count();
    body_ = std::make_unique<XmlBody>(list_name(body, holds_several));
    const auto* root = std::get_if<Members>(&body.tree.value);
    if (root == nullptr || root->size() != 1 ||
        std::holds_alternative<std::vector<config::Tree>>(root->front().second.value)) {
      report_(body.tree.mark, "XML has one root element: give one name, and under it the tree");
      return nullptr;
    }
    add_element(root->front().first, root->front().second);
    text_ += '\n';
    body_->end_ = std::move(text_);
    if (report_.count() != before) return nullptr;
    return std::move(body_);
  }

 private:
  // Empty where nothing stands around the root.
  std::string list_name(const config::Body& body, bool holds_several) const {
    if (body.list.text.empty()) return holds_several ? "list" : "";
    if (!is_xml_name(body.list.text) || body.list.text.find(':') != std::string::npos) {
      report_(body.list.mark,
              "list: " + in_quotes(body.list.text) + " is no name of an XML element");
    }
    return body.list.text;
  }

  // `what`: "an element" or "an attribute".
  void check_name(const config::Text& name, std::string_view text, std::string_view what) const {
    if (!is_xml_name(text)) {
      return report_(name.mark,
                     in_quotes(name.text) + " is no name of " + std::string(what) +
                         " of XML: letters, digits, \"_\", \"-\" and \".\", no digit first");
    }
    const size_t colon = text.find(':');
    const std::string_view prefix = colon == std::string_view::npos ? "" : text.substr(0, colon);
    if (!prefix.empty() && prefix != "xml" &&
        std::find(prefixes_.begin(), prefixes_.end(), prefix) == prefixes_.end()) {
      report_(name.mark, in_quotes(name.text) + ": the prefix is not declared; give \"@xmlns:" +
                             std::string(prefix) + "\" at this element or around it");
    }
  }

  // Names that begin so, in any case, are the standard's own (2.3).
  static bool is_reserved(std::string_view name) {
    return name.size() >= 3 && (name[0] | 0x20) == 'x' && (name[1] | 0x20) == 'm' &&
           (name[2] | 0x20) == 'l';
  }

  void add_element(const config::Text& name, const config::Tree& tree) {
    if (const auto* list = std::get_if<std::vector<config::Tree>>(&tree.value))
      return add_repeated(name, *list);
    const size_t declared = prefixes_.size();
    if (const auto* members = std::get_if<Members>(&tree.value)) {
      declare_prefixes(*members);
      check_element_name(name);
      add_object(name.text, *members);
    } else {
      check_element_name(name);
      add_leaf(std::get<config::Leaf>(tree.value), "<" + name.text + ">", "</" + name.text + ">",
               false);
    }
    prefixes_.resize(declared);
  }

  void check_element_name(const config::Text& name) const {
    check_name(name, name.text, "an element");
    if (is_reserved(name.text))
      report_(name.mark,
              in_quotes(name.text) + ": names that begin with xml are the standard's own");
  }

  void add_repeated(const config::Text& name, const std::vector<config::Tree>& list) {
    for (const config::Tree& one : list) {
      if (std::holds_alternative<std::vector<config::Tree>>(one.value)) {
        report_(one.mark, "XML has no list in a list: its elements would have no name");
      } else {
        add_element(name, one);
      }
    }
  }

  void declare_prefixes(const Members& members) {
    constexpr std::string_view kDeclares = "@xmlns:";
    for (const auto& [name, tree] : members) {
      if (!name.text.starts_with("@xmlns")) continue;
      const auto* leaf = std::get_if<config::Leaf>(&tree.value);
      if (leaf == nullptr || !leaf->from.empty() || leaf->constant.empty()) {
        report_(name.mark, in_quotes(name.text) + " is a constant: the namespace's name");
      }
      if (name.text.starts_with(kDeclares)) prefixes_.push_back(name.text.substr(kDeclares.size()));
    }
  }

  void add_object(const std::string& name, const Members& members) {
    text_ += "<" + name;
    for (size_t i = 0; i < members.size(); ++i) {
      if (is_repeated(members, i))
        report_(members[i].first.mark, in_quotes(members[i].first.text) +
                                           " stands twice; a list makes an element come again");
      if (members[i].first.text.starts_with('@'))
        add_attribute(members[i].first, members[i].second);
    }
    text_ += '>';
    for (const auto& [key, tree] : members) {
      if (key.text.starts_with('@')) continue;
      if (key.text == "#text") {
        add_own_text(key, tree);
      } else {
        add_element(key, tree);
      }
    }
    text_ += "</" + name + ">";
  }

  static bool is_repeated(const Members& members, size_t at) {
    return std::any_of(
        members.begin(), members.begin() + static_cast<std::ptrdiff_t>(at),
        [&](const auto& member) { return member.first.text == members[at].first.text; });
  }

  void add_attribute(const config::Text& key, const config::Tree& tree) {
    const std::string name = key.text.substr(1);
    if (name != "xmlns" && !name.starts_with("xmlns:")) {
      check_name(key, name, "an attribute");
      if (is_reserved(name) && !name.starts_with("xml:"))
        report_(key.mark,
                in_quotes(key.text) + ": names that begin with xml are the standard's own");
    } else if (!is_xml_name(name) || name == "xmlns:xmlns" || name == "xmlns:xml") {
      report_(key.mark, in_quotes(key.text) + " declares no prefix");
    }
    const auto* leaf = std::get_if<config::Leaf>(&tree.value);
    if (leaf == nullptr)
      return report_(tree.mark, in_quotes(key.text) + " is an attribute: one value");
    add_leaf(*leaf, " " + name + "=\"", "\"", true);
  }

  void add_own_text(const config::Text& key, const config::Tree& tree) {
    const auto* leaf = std::get_if<config::Leaf>(&tree.value);
    if (leaf == nullptr) return report_(key.mark, "\"#text\" is the element's own text: one value");
    add_leaf(*leaf, "", "", false);
  }

  void add_leaf(const config::Leaf& source, std::string open, std::string close,
                bool in_attribute) {
    auto leaf = Leaf::compile(source, Leaf::Holds::kTexts, zone_, report_);
    if (!leaf) return;
    if (leaf->is_constant())
      return add_constant(source, leaf->constant(), open, close, in_attribute);
    body_->holes_.push_back(
        {std::move(text_), std::move(open), std::move(close), in_attribute, std::move(*leaf)});
    text_.clear();
  }

  void add_constant(const config::Leaf& source, const Value& value, const std::string& open,
                    const std::string& close, bool in_attribute) {
    if (value.kind == Value::Kind::kNone) return;
    if (first_unfit_for_xml(value.text)) {
      report_(source.mark, in_quotes(value.text) + " has a character that XML cannot hold");
    }
    text_ += open;
    if (in_attribute) {
      append_xml_attribute(text_, value.text);
    } else {
      append_xml_text(text_, value.text);
    }
    text_ += close;
  }

  const base::Zone& zone_;
  const config::Report& report_;
  std::unique_ptr<XmlBody> body_;
  std::string text_;                   // since the last hole
  std::vector<std::string> prefixes_;  // declared around the place at hand
};

}  // namespace

std::unique_ptr<Body> make_xml_body(const config::Outlet& outlet, const base::Zone& zone,
                                    const config::Report& report) {
  return XmlCompiler(zone, report).compile(outlet.body, outlet.batch.count > 1);
}

}  // namespace girdle::delivery
