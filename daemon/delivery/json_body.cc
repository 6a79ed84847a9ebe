#include "delivery/json_body.h"

#include <variant>
#include <vector>

#include "base/json.h"
#include "base/text.h"
#include "delivery/body_form.h"
#include "delivery/leaf.h"
#include "delivery/own_body.h"

namespace girdle::delivery {
namespace {

// Of the event: it holds no number but integers.
void copy(base::JsonWriter& json, simdjson::dom::element element) {
  using simdjson::dom::element_type;
  switch (element.type()) {
    case element_type::OBJECT: {
      const simdjson::dom::object object = element.get_object();
      json.begin_object();
      for (const auto [name, value] : object) {
        json.key(name);
        copy(json, value);
      }
      json.end_object();
      return;
    }
    case element_type::ARRAY: {
      const simdjson::dom::array list = element.get_array();
      json.begin_array();
      for (const auto value : list) copy(json, value);
      json.end_array();
      return;
    }
    case element_type::STRING:
      json.text(element.get_string().value_unsafe());
      return;
    case element_type::BOOL:
      json.boolean(element.get_bool().value_unsafe());
      return;
    case element_type::NULL_VALUE:
      json.null();
      return;
    case element_type::INT64:
    case element_type::UINT64:
    case element_type::DOUBLE:
      json.raw(simdjson::to_string(element));
      return;
  }
}

void append_value(std::string& out, const Value& value) {
  base::JsonWriter json(out);
  switch (value.kind) {
    case Value::Kind::kNone:
      json.null();
      return;
    case Value::Kind::kText:
      json.text(value.text);
      return;
    case Value::Kind::kNumber:
    case Value::Kind::kFlag:
      out += value.text;
      return;
    case Value::Kind::kTree:
      copy(json, value.tree);
      return;
  }
}

// The text of a message with holes in it: everything but what the event gives is the same in every
// message.
class JsonBody final : public OwnBody {
 public:
  JsonBody(bool lines) : lines_(lines) {}

  std::string_view content_type() const override {
    return lines_ ? "application/x-ndjson" : "application/json";
  }
  std::string_view extension() const override { return lines_ ? "jsonl" : "json"; }

 protected:
  base::Result<void> write(std::string& out, const ParsedEvent& event) override {
    for (const Hole& hole : holes_) {
      out += hole.before;
      const auto value = hole.leaf.value(event, scratch_);
      if (!value) return value.error();
      append_value(out, *value);
    }
    out += end_;
    return {};
  }

 private:
  friend class JsonCompiler;
  struct Hole {
    std::string before;
    Leaf leaf;
  };

  const bool lines_;
  std::vector<Hole> holes_;
  std::string end_;
  std::string scratch_;
};

class JsonCompiler {
 public:
  JsonCompiler(const base::Zone& zone, const config::Report& report)
      : zone_(zone), report_(report) {}

  std::unique_ptr<Body> compile(const config::Tree& tree, bool lines) {
    body_ = std::make_unique<JsonBody>(lines);
    const size_t before = report_.count();
    add(tree);
    if (lines) text_ += '\n';
    body_->end_ = std::move(text_);
    if (report_.count() != before) return nullptr;
    return std::move(body_);
  }

 private:
  using Members = std::vector<std::pair<config::Text, config::Tree>>;

  void add(const config::Tree& tree) {
    std::visit([this](const auto& value) { add(value); }, tree.value);
  }

  void add(const config::Leaf& source) {
    auto leaf = Leaf::compile(source, Leaf::Holds::kTrees, zone_, report_);
    if (!leaf) return;
    if (leaf->is_constant()) return append_value(text_, leaf->constant());
    body_->holes_.push_back({std::move(text_), std::move(*leaf)});
    text_.clear();
  }

  void add(const Members& members) {
    text_ += '{';
    for (size_t i = 0; i < members.size(); ++i) {
      const config::Text& name = members[i].first;
      if (!base::is_utf8(name.text))
        report_(name.mark, base::in_quotes(name.text) + " is not UTF-8");
      for (size_t j = 0; j < i; ++j) {
        if (members[j].first.text != name.text) continue;
        report_(name.mark, base::in_quotes(name.text) + " stands twice in one object");
      }
      if (i > 0) text_ += ',';
      base::JsonWriter(text_).text(name.text);
      text_ += ':';
      add(members[i].second);
    }
    text_ += '}';
  }

  void add(const std::vector<config::Tree>& list) {
    text_ += '[';
    for (size_t i = 0; i < list.size(); ++i) {
      if (i > 0) text_ += ',';
      add(list[i]);
    }
    text_ += ']';
  }

  const base::Zone& zone_;
  const config::Report& report_;
  std::unique_ptr<JsonBody> body_;
  std::string text_;  // since the last hole
};

}  // namespace

std::unique_ptr<Body> make_json_body(const config::Outlet& outlet, const base::Zone& zone,
                                     const config::Report& report) {
  return JsonCompiler(zone, report).compile(outlet.body.tree, holds_several(outlet));
}

}  // namespace girdle::delivery
