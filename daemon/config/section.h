// One map of a YAML file, read by key; collects everything that is wrong with it.
//
// Scalars are taken as the text that stands in the file: "no", 0117 and 1e3 stay what they are. Every reader function
// reports what is wrong and gives a harmless value, so that one pass tells all.
#pragma once

#include <yaml-cpp/yaml.h>

#include <chrono>
#include <cstdint>
#include <initializer_list>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/clock.h"
#include "config/problem.h"
#include "config/settings.h"

namespace girdle::config {

// A key that a section may have. The tables of keys (keys.h) give the parser, the check for unknown keys, and the
// reference page, which a test compares with them.
struct Key {
  std::string_view name;
  bool required = false;
};

Mark mark_of(const YAML::Node& node);

class Section {
 public:
  // `what` names the section in messages, e.g. "an intake". Reports a node that is no map, keys that are not in `keys`
  // (with the nearest), keys that come twice, and required keys that are missing.
  Section(const YAML::Node& node, std::string_view what, std::span<const Key> keys, const std::string& file,
          Problems& problems);

  bool sound() const { return sound_; }  // it is a map
  bool has(std::string_view key) const;
  YAML::Node at(std::string_view key) const;
  Mark mark(std::string_view key) const;
  Mark mark() const { return mark_; }

  // Nothing where the key is missing, or wrong (and then reported).
  std::optional<std::string> text(std::string_view key);
  std::optional<Text> located(std::string_view key);
  std::optional<bool> boolean(std::string_view key);
  std::optional<int64_t> integer(std::string_view key, int64_t least, int64_t most);
  std::optional<base::Millis> duration(std::string_view key);
  std::optional<uint64_t> size(std::string_view key);  // bytes: 4096, 64KiB, 1MiB, 2GiB
  // The index of the word among `words`.
  std::optional<size_t> choice(std::string_view key, std::initializer_list<std::string_view> words);

  void problem(const Mark& mark, std::string text);
  void problem_at(std::string_view key, std::string text) { problem(mark(key), std::string(key) + ": " + text); }

  const std::string& file() const { return file_; }
  Problems& problems() { return problems_; }

 private:
  YAML::Node node_;
  std::string what_;
  const std::string& file_;
  Problems& problems_;
  Mark mark_;
  bool sound_ = false;
};

// A YAML file, or a text as if it stood in one: one document, a bounded number of nodes. Nothing when it cannot be read.
std::optional<YAML::Node> load_yaml(const std::string& text, const std::string& file, Problems& problems);
std::optional<std::string> read_text(const std::filesystem::path& path, const std::string& named_in, const Mark& mark,
                                     std::string_view what, Problems& problems);

}  // namespace girdle::config
