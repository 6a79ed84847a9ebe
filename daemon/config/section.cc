#include "config/section.h"

#include <algorithm>
#include <cassert>

#include "base/text.h"
#include "base/time.h"
#include "config/values.h"
#include "config/yaml_file.h"

namespace girdle::config {
namespace {

const Node& nothing() {
  static const Node kNothing;
  return kNothing;
}

// The scalar, if the key takes it.
std::optional<std::string_view> text_of(const Node& node, const Key& key) {
  return fits(node, key) ? node.scalar() : std::nullopt;
}

// In the order of the file.
std::vector<std::pair<Text, Text>> pairs_of(const Node& map) {
  std::vector<std::pair<Text, Text>> out;
  for (const Node::Entry& entry : map.entries) {
    if (const auto text = entry.value->scalar()) {
      out.push_back({{entry.key->text, entry.key->mark}, {std::string(*text), entry.value->mark}});
    }
  }
  return out;
}

std::span<const Node* const> items_of(const Node* node) {
  return node == nullptr ? std::span<const Node* const>() : node->items;
}

}  // namespace

const Key& Section::key_of(std::string_view key) const {
  const Key* known = keys_->find(key);
  assert(known != nullptr && "the table has no such key");
  return *known;
}

const Node* Section::find(std::string_view key) const {
  for (const Node::Entry& entry : node_->entries) {
    if (entry.key->text != key) continue;
    return entry.value->kind == Node::Kind::kEmpty && key_of(key).may_be_empty ? nullptr
                                                                               : entry.value;
  }
  return nullptr;
}

bool Section::has_unknown_keys() const {
  return std::any_of(node_->entries.begin(), node_->entries.end(), [&](const Node::Entry& entry) {
    return keys_->find(entry.key->text) == nullptr;
  });
}

const Mark& Section::mark(std::string_view key) const {
  for (const Node::Entry& entry : node_->entries) {
    if (entry.key->text == key) return Node::place(entry);
  }
  return node_->mark;
}

std::string Section::text(std::string_view key) const {
  const Node* node = find(key);
  const auto text = node == nullptr ? std::nullopt : text_of(*node, key_of(key));
  return std::string(text ? *text : key_of(key).fallback);
}

int64_t Section::whole(std::string_view key) const {
  const auto number = parse_whole(text(key));
  return number ? *number : parse_whole(key_of(key).fallback).value_or(0);
}

base::Decimal Section::decimal(std::string_view key) const {
  const auto number = base::Decimal::parse(text(key));
  return number ? *number : base::Decimal::parse(key_of(key).fallback).value_or(0);
}

base::Millis Section::duration(std::string_view key) const {
  const auto duration = base::parse_duration(text(key));
  return duration ? *duration
                  : base::parse_duration(key_of(key).fallback).value_or(base::Millis(0));
}

std::vector<base::Millis> Section::durations(std::string_view key) const {
  std::vector<base::Millis> out;
  const Node* node = find(key);
  if (node != nullptr) {
    for (const Node* item : node->items) {
      out.push_back(base::parse_duration(item->text).value_or(base::Millis(0)));
    }
    return out;
  }
  // The table's "[5s, 5min]".
  std::string_view rest = key_of(key).fallback;
  while (rest.size() > 1) {
    rest.remove_prefix(1);
    const size_t end = rest.find_first_of(",]");
    const auto one = base::parse_duration(base::trimmed(rest.substr(0, end)));
    assert(one && "a default in the table is no duration");
    out.push_back(*one);
    rest.remove_prefix(end);
  }
  return out;
}

uint64_t Section::size(std::string_view key) const {
  const auto size = parse_size(text(key));
  return size ? *size : parse_size(key_of(key).fallback).value_or(0);
}

std::string Section::bytes(std::string_view key) const {
  const auto bytes = parse_bytes(text(key));
  return bytes ? *bytes : parse_bytes(key_of(key).fallback).value_or("");
}

size_t Section::choice(std::string_view key) const {
  const Key& known = key_of(key);
  const auto place = [&](std::string_view word) {
    return std::find(known.choices.begin(), known.choices.end(), word) - known.choices.begin();
  };
  const auto given = static_cast<size_t>(place(text(key)));
  if (given < known.choices.size()) return given;
  const auto fallback = static_cast<size_t>(place(known.fallback));
  return fallback < known.choices.size() ? fallback : 0;
}

std::vector<Text> Section::texts(std::string_view key) const {
  std::vector<Text> out;
  const Node* node = find(key);
  if (node == nullptr) return out;
  const auto take = [&](const Node& item) {
    if (const auto text = text_of(item, key_of(key))) {
      out.push_back({std::string(*text), item.mark});
    }
  };
  take(*node);
  for (const Node* item : node->items) take(*item);
  return out;
}

std::vector<std::pair<Text, Text>> Section::pairs(std::string_view key) const {
  const Node* node = find(key);
  return node == nullptr ? std::vector<std::pair<Text, Text>>() : pairs_of(*node);
}

std::vector<std::pair<Text, std::vector<std::pair<Text, Text>>>> Section::text_maps(
    std::string_view key) const {
  std::vector<std::pair<Text, std::vector<std::pair<Text, Text>>>> out;
  const Node* node = find(key);
  if (node == nullptr) return out;
  for (const Node::Entry& entry : node->entries) {
    const auto tag = language_tag(entry.key->text);
    if (!tag || entry.value->kind != Node::Kind::kMap) continue;
    out.push_back({{*tag, entry.key->mark}, pairs_of(*entry.value)});
  }
  return out;
}

std::vector<std::pair<Text, std::vector<Text>>> Section::tests(std::string_view key) const {
  std::vector<std::pair<Text, std::vector<Text>>> out;
  const Node* node = find(key);
  if (node == nullptr) return out;
  for (const Node::Entry& entry : node->entries) {
    auto& texts =
        out.emplace_back(Text{entry.key->text, entry.key->mark}, std::vector<Text>()).second;
    const auto take = [&](const Node& item) {
      if (const auto text = item.scalar()) texts.push_back({std::string(*text), item.mark});
    };
    take(*entry.value);
    for (const Node* item : entry.value->items) take(*item);
  }
  return out;
}

bool Section::is_map(std::string_view key) const {
  const Node* node = find(key);
  return node != nullptr && node->kind == Node::Kind::kMap;
}

Section Section::section(std::string_view key) const {
  return {is_map(key) ? *find(key) : nothing(), *key_of(key).map};
}

std::vector<Section> Section::sections(std::string_view key) const {
  std::vector<Section> out;
  for (const std::optional<Section>& item : map_items(key)) {
    if (item) out.push_back(*item);
  }
  return out;
}

std::vector<std::optional<Section>> Section::map_items(std::string_view key) const {
  std::vector<std::optional<Section>> out;
  for (const Node* item : items_of(find(key))) {
    out.emplace_back();
    if (item->kind == Node::Kind::kMap) out.back().emplace(*item, *key_of(key).map);
  }
  return out;
}

std::vector<std::optional<Text>> Section::text_items(std::string_view key) const {
  std::vector<std::optional<Text>> out;
  for (const Node* item : items_of(find(key))) {
    out.emplace_back();
    const auto text = text_of(*item, key_of(key));
    if (text) out.back() = Text{std::string(*text), item->mark};
  }
  return out;
}

std::vector<std::pair<Text, Section>> Section::children() const {
  std::vector<std::pair<Text, Section>> out;
  for (const Node::Entry& entry : node_->entries) {
    const Key* known = keys_->find(entry.key->text);
    const bool open = known == nullptr && keys_->open_map != nullptr &&
                      entry.key->text.starts_with(keys_->open_prefix) &&
                      entry.key->text.size() > keys_->open_prefix.size();
    const KeySet* map = known != nullptr ? known->map : open ? keys_->open_map : nullptr;
    if (map == nullptr || entry.value->kind != Node::Kind::kMap) continue;
    out.push_back({{entry.key->text, entry.key->mark}, Section(*entry.value, *map)});
  }
  return out;
}

}  // namespace girdle::config
