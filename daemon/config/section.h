// One map of a YAML file, checked against its table of keys (keys.h) and read by key.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/clock.h"
#include "base/decimal.h"
#include "config/keys.h"
#include "config/problem.h"
#include "config/settings.h"
#include "config/yaml_file.h"

namespace girdle::config {

// Reports everything in which the node, and what is under it, differs from the table: no map,
// unknown keys (with the nearest), required keys that are missing, values of the wrong shape, out
// of range or out of the choices. What only several keys together tell is left to the readers.
void check(const Node& node, const KeySet& keys, const Report& report);

// Whether a scalar, or an item of a list, is what the key takes.
bool fits(const Node& node, const Key& key);

// Reads what check() has passed. Where a key is not there, or is wrong and so was reported, every
// reader function gives the table's default, else an empty value: the reading goes on, and one pass
// tells all.
class Section {
 public:
  // Node and keys live longer than the section.
  Section(const Node& node, const KeySet& keys) : node_(&node), keys_(&keys) {}

  const Mark& mark() const { return node_->mark; }
  bool has(std::string_view key) const { return find(key) != nullptr; }
  // Whether check() has nothing to say of the map and what is under it.
  bool sound() const;
  // The same of one key; one that is left out is sound unless it is required.
  bool sound(std::string_view key) const;
  bool has_unknown_keys() const;
  // Of the key's value; of the map where the key is not there.
  const Mark& mark(std::string_view key) const;

  std::string text(std::string_view key) const;
  Text located(std::string_view key) const { return {text(key), mark(key)}; }
  bool flag(std::string_view key) const { return text(key) == "true"; }
  int64_t whole(std::string_view key) const;
  base::Decimal decimal(std::string_view key) const;
  base::Millis duration(std::string_view key) const;
  std::vector<base::Millis> durations(std::string_view key) const;
  uint64_t size(std::string_view key) const;
  std::string bytes(std::string_view key) const;
  // The place of the word among the key's choices: in the order of the enumeration that it stands
  // for.
  size_t choice(std::string_view key) const;
  template <class Enum>
  Enum choice_of(std::string_view key) const {
    return static_cast<Enum>(choice(key));
  }
  // The items of a list, or a text by itself.
  std::vector<Text> texts(std::string_view key) const;
  // In the order of the file.
  std::vector<std::pair<Text, Text>> pairs(std::string_view key) const;
  // By language, as language_tag() writes it; of one that is wrong nothing.
  std::vector<std::pair<Text, std::vector<std::pair<Text, Text>>>> text_maps(
      std::string_view key) const;
  // Of raw fields, each with one text or several.
  std::vector<std::pair<Text, std::vector<Text>>> tests(std::string_view key) const;
  // Empty where the key is not there.
  Section section(std::string_view key) const;
  std::vector<Section> sections(std::string_view key) const;
  // Of a list, one for each item, so that the items keep their numbers: nothing for an item that is
  // no map, or no text. Empty where it is no list.
  std::vector<std::optional<Section>> map_items(std::string_view key) const;
  std::vector<std::optional<Text>> text_items(std::string_view key) const;
  // Of a map with one more map under each key: the key and its map.
  std::vector<std::pair<Text, Section>> children() const;
  bool is_map(std::string_view key) const;
  // The key's value as it stands there; null where the key is not there.
  const Node* node(std::string_view key) const { return find(key); }

 private:
  const Key& key_of(std::string_view key) const;
  const Node* find(std::string_view key) const;

  const Node* node_;
  const KeySet* keys_;
};

}  // namespace girdle::config
