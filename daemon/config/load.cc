#include "config/load.h"

#include <map>
#include <type_traits>

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

// A zone that is wrong was told.
base::Zone zone_of(const std::string& name) {
  auto zone = base::Zone::find(name);
  return zone ? std::move(zone).value() : base::Zone::utc();
}

// What a file that the configuration names holds, by `read`; nothing where it is not there or no
// YAML.
template <class Read>
auto read_named(const NamedFile& named, std::string_view key, const Desk& desk, Problems& problems,
                Read read)
    -> std::optional<std::invoke_result_t<Read, const Node&, const Report&>> {
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

void read_policies(TopLevel& top, const Desk& desk, Problems& problems) {
  const base::Zone zone = zone_of(top.settings.timezone);
  const auto policy_of = [&](const NamedFile& named, std::string_view key) {
    const auto read = [&](const Node& root, const Report& report) {
      return read_policy(root, zone, report);
    };
    return named.path.empty() ? std::nullopt : read_named(named, key, desk, problems, read);
  };
  Settings& settings = top.settings;
  if (auto policy = policy_of(top.policy, "policy")) settings.policy = std::move(*policy);
  settings.next_policy = policy_of(top.next_policy, "next_policy");
  settings.shadow_policy = policy_of(top.shadow_policy, "shadow_policy");
  if (!settings.next_policy || settings.next_policy->valid_from_mark.line != 0) return;
  desk.report(top.next_policy.mark,
              "next_policy: " + shown(top.next_policy.path) +
                  " does not say when it takes over; write there, for instance, valid_from: "
                  "2026-11-02");
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
  read_policies(top, desk, loaded.problems);
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

LoadedPolicy load_policy(const path& file, const std::string& timezone, const Files& files) {
  LoadedPolicy loaded;
  const std::string name = file.string();
  const Report report(name, loaded.problems);
  if (const auto yaml = read_root(files, file, report)) {
    loaded.policy = read_policy(yaml->root(), zone_of(timezone), report);
  }
  put_in_order(loaded.problems, name);
  return loaded;
}

LoadedPolicy load_policy(const path& file, const std::string& timezone) {
  return load_policy(file, timezone, Disk());
}

}  // namespace girdle::config
