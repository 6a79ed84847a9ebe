// Values of messages, and trees of them, as an outlet's body writes them: what is what. In a tree,
// a map with the key `from` or `value` is a value; one whose only key is `object` has its members
// under that, so that they may be called anything; any other map has its members in itself.
// Inside config/ only.
#pragma once

#include "config/problem.h"
#include "config/section.h"
#include "config/settings.h"
#include "config/yaml_file.h"

namespace girdle::config {

// Whether a map in a tree stands for one value.
bool is_value(const Node& map);
// What stands under the only key `object` of the map; nothing for another map.
const Node* spelled_members(const Node& map);

// Reads values that check() has looked at; what only several keys together tell is reported here.
// In place of a value that is wrong there is a constant that will do anywhere, without a place
// (line 0), so that the others can be looked at.
class TreeReader {
 public:
  explicit TreeReader(const Report& report) : report_(report) {}

  Leaf leaf(const Node& node) const;
  // Of a map.
  std::vector<std::pair<Text, Leaf>> leaves(const Node& node) const;
  Tree tree(const Node& node) const;
  // Of a map with one name, the root element's, whatever it is called.
  Tree element(const Node& map) const { return {map.mark, members(map)}; }

 private:
  Leaf value(const Node& map) const;
  std::vector<std::pair<Text, Tree>> members(const Node& map) const;

  const Report& report_;
};

}  // namespace girdle::config
