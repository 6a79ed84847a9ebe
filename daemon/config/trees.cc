#include "config/trees.h"

#include "base/json.h"
#include "base/text.h"
#include "config/open_mark.h"
#include "config/outlet_keys.h"
#include "config/values.h"

namespace girdle::config {
namespace {

using Type = Leaf::Type;

// Plain, `true` and `7` are what they look like; in quotes they are texts.
Type type_of(const Node& scalar) {
  if (scalar.kind == Node::Kind::kEmpty) return Type::kNull;
  if (scalar.quoted) return Type::kText;
  if (scalar.text == "true" || scalar.text == "false") return Type::kFlag;
  return base::is_json_number(scalar.text) ? Type::kNumber : Type::kText;
}

Leaf stand_in() {
  Leaf leaf;
  leaf.constant = "-";
  return leaf;
}

Text text_of(const Node& node) { return {node.text, node.mark}; }

}  // namespace

bool is_value(const Node& map) {
  return value_of(map, "from") != nullptr || value_of(map, "value") != nullptr;
}

const Node* spelled_members(const Node& map) {
  return map.entries.size() == 1 ? value_of(map, "object") : nullptr;
}

Leaf TreeReader::leaf(const Node& node) const {
  if (node.kind == Node::Kind::kMap) return value(node);
  if (node.kind == Node::Kind::kList) return stand_in();
  Leaf leaf;
  leaf.mark = node.mark;
  leaf.type = type_of(node);
  if (leaf.type != Type::kNull) leaf.constant = node.text;
  return leaf;
}

Leaf TreeReader::value(const Node& map) const {
  const Section section(map, kValueKeys);
  if (!section.sound()) return stand_in();
  const size_t before = report_.count();
  Leaf leaf;
  leaf.mark = map.mark;
  leaf.from = section.texts("from");
  leaf.join = section.text("join");
  if (section.has("join") && leaf.from.size() == 1) {
    report_(section.mark("join"), "join: it stands between several, and from names one");
  }
  leaf.constant = section.text("value");
  if (section.has("value")) leaf.type = type_of(*section.node("value"));
  if (section.has("as")) leaf.type = section.choice_of<Type>("as");
  leaf.words = section.pairs("words");
  leaf.has_default = section.has("default");
  if (leaf.has_default) leaf.default_value = section.located("default");
  leaf.decimal_mark = section.text("decimal").front();
  leaf.form = section.text("form");
  leaf.zone = section.text("zone");
  for (const auto& [ours, theirs] : leaf.words) {
    if (theirs.text != kFillIn) continue;
    report_(theirs.mark, "words: what " + base::in_quotes(ours.text) +
                             " is called there is still to be filled in");
  }
  return report_.count() == before ? leaf : stand_in();
}

std::vector<std::pair<Text, Leaf>> TreeReader::leaves(const Node& node) const {
  std::vector<std::pair<Text, Leaf>> out;
  for (const Node::Entry& entry : node.entries) {
    out.emplace_back(text_of(*entry.key), leaf(*entry.value));
  }
  return out;
}

Tree TreeReader::tree(const Node& node) const {
  if (node.kind == Node::Kind::kList) {
    std::vector<Tree> items;
    for (const Node* item : node.items) items.push_back(tree(*item));
    return {node.mark, std::move(items)};
  }
  if (node.kind != Node::Kind::kMap || is_value(node)) return {node.mark, leaf(node)};
  const Node* spelled = spelled_members(node);
  return {node.mark, members(spelled == nullptr ? node : *spelled)};
}

std::vector<std::pair<Text, Tree>> TreeReader::members(const Node& map) const {
  std::vector<std::pair<Text, Tree>> out;
  for (const Node::Entry& entry : map.entries) {
    Tree tree = this->tree(*entry.value);
    if (entry.value->kind == Node::Kind::kEmpty) {
      tree.mark = std::get<Leaf>(tree.value).mark = Node::place(entry);
    }
    out.emplace_back(text_of(*entry.key), std::move(tree));
  }
  return out;
}

}  // namespace girdle::config
