#include "config/load.h"

#include <map>

#include "config/parts.h"
#include "config/yaml_file.h"

namespace girdle::config {
namespace {

using std::filesystem::path;

// The file's text; nothing, with the reason in `why`, where it cannot be had.
std::optional<std::string> read_text(const Files& files, const path& file, std::string& why) {
  switch (files.kind(file)) {
    case Files::Kind::kMissing:
      why = "the file " + shown(file) + " does not exist";
      return std::nullopt;
    case Files::Kind::kFolder:
    case Files::Kind::kOther:
      why = shown(file) + " is not a file";
      return std::nullopt;
    case Files::Kind::kFile:
      break;
  }
  auto text = files.read(file, kMaxFileBytes);
  if (text) return std::move(text).value();
  why = shown(file) + " " + text.error().text;
  return std::nullopt;
}

// What a file that the configuration names holds, by `read`; nothing where it is not there or no
// YAML.
template <class Value>
std::optional<Value> read_named(const NamedFile& named, std::string_view key, const Desk& desk,
                                Problems& problems, Value (*read)(const Node&, const Report&)) {
  std::string why;
  const auto text = read_text(desk.files, named.path, why);
  if (!text) {
    desk.report(named.mark, std::string(key) + ": " + why);
    return std::nullopt;
  }
  const std::string name = named.path.string();
  const Report report(name, problems);
  const auto yaml = YamlFile::parse(*text, report);
  if (!yaml) return std::nullopt;
  return read(yaml->root(), report);
}

void read_mappings(TopLevel& top, const Desk& desk, Problems& problems) {
  // One mapping may serve several intakes; it is read, and what is wrong with it told, once.
  std::map<path, std::optional<MappingFile>> known;
  for (size_t i = 0; i < top.mappings.size(); ++i) {
    const NamedFile& named = top.mappings[i];
    if (named.path.empty()) continue;
    auto at = known.find(named.path);
    if (at == known.end()) {
      at = known.emplace(named.path, read_named(named, "mapping", desk, problems, &read_mapping))
               .first;
    }
    if (!at->second) continue;
    top.settings.intakes[i].mapping = at->second->mapping;
    top.settings.intakes[i].mapping_whole = at->second->whole;
  }
}

// The file's tree, or what is wrong with it.
std::optional<YamlFile> read_root(const Files& files, const path& file, const Report& report) {
  std::string why;
  const auto text = read_text(files, file, why);
  if (text) return YamlFile::parse(*text, report);
  report({}, why);
  return std::nullopt;
}

}  // namespace

Loaded load(const path& file, const Files& files) {
  Loaded loaded;
  loaded.settings.file = file;
  const std::string name = file.string();
  const Report report(name, loaded.problems);
  const auto yaml = read_root(files, file, report);
  if (!yaml) return loaded;
  check(yaml->root(), kSettingsKeys, report);
  const Desk desk{files, report, file.parent_path()};
  TopLevel top = read_settings(Section(yaml->root(), kSettingsKeys), desk);
  if (!top.policy.path.empty()) {
    auto policy = read_named(top.policy, "policy", desk, loaded.problems, &read_policy);
    if (policy) top.settings.policy = std::move(*policy);
  }
  read_mappings(top, desk, loaded.problems);
  loaded.settings = std::move(top.settings);
  loaded.settings.file = file;
  put_in_order(loaded.problems, name);
  return loaded;
}

Loaded load(const path& file) {
  return load(std::filesystem::absolute(file).lexically_normal(), Disk());
}

LoadedTable load_table(const path& file, const Files& files) {
  LoadedTable loaded;
  const std::string name = file.string();
  const Report report(name, loaded.problems);
  if (const auto yaml = read_root(files, file, report)) {
    loaded.table = read_table(yaml->root(), report);
  }
  put_in_order(loaded.problems, name);
  return loaded;
}

LoadedTable load_table(const path& file) { return load_table(file, Disk()); }

}  // namespace girdle::config
