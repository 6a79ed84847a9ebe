// One YAML file as a tree in which every scalar is the text that stands in the file: `no`, `0117`,
// `1e3`, `~` and `null` stay what they are; whoever asks for a key says what it must be.
//
// Narrower than YAML where YAML surprises: one document, no tags (!!str), no merge keys (<<), keys
// are texts and come once in a map. Anchors and aliases are taken. Bounded: 1 MiB, 32 levels, and
// 100,000 values after the aliases are expanded.
#pragma once

#include <deque>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "config/problem.h"

namespace girdle::config {

inline constexpr size_t kMaxFileBytes = 1 << 20;
inline constexpr size_t kMaxValues = 100'000;
inline constexpr int kMaxLevels = 32;

// Lives as long as its YamlFile. An aliased node has the mark of its anchor's place.
struct Node {
  enum class Kind : uint8_t {
    kEmpty,  // nothing; `text` is empty, or the `~` or `null` as which it was spelled
    kText,
    kList,
    kMap,
  };
  struct Entry {
    const Node* key;  // kText, or a spelled kEmpty; each text once
    const Node* value;
  };

  Kind kind = Kind::kEmpty;
  model::Mark mark;
  std::string text;
  bool quoted = false;
  std::vector<const Node*> items;
  std::vector<Entry> entries;

  size_t weight = 1;    // nodes under and with this one, aliases expanded
  int levels = 1;       // the longest way down
  bool closed = false;  // all of it was read: an alias may point here

  // The scalar as it stands in the file, `~` and `null` too; nothing for lists, maps and a place
  // where nothing stands.
  std::optional<std::string_view> scalar() const;
  // The value's place; for a value that is left out, its key's.
  static const model::Mark& place(const Entry& entry);
};

// The value at the key; nothing where the map has no such key.
const Node* value_of(const Node& map, std::string_view key);

class YamlFile {
 public:
  // Reports all that is wrong. Nothing where no tree could be made; a tree with what was refused
  // (a second key of the same name, a merge) left out where the rest can still be looked at.
  static std::optional<YamlFile> parse(const std::string& text, const Report& report);

  const Node& root() const { return *root_; }

 private:
  YamlFile() = default;
  std::unique_ptr<std::deque<Node>> nodes_;
  const Node* root_ = nullptr;
};

}  // namespace girdle::config
