#include "config/load.h"

#include <algorithm>
#include <map>

#include "config/section.h"

namespace girdle::config {
namespace {

// The same folder by two names is the same folder.
std::string folder_key(const std::filesystem::path& path) {
  std::error_code failed;
  const auto canonical = std::filesystem::weakly_canonical(path, failed);
  return (failed ? path : canonical).string();
}

void check_sources(const Settings& settings, Problems& problems) {
  std::map<std::string, const Intake*> folders, devices;
  const std::string file = settings.file.string();
  for (const Intake& intake : settings.intakes) {
    const auto once = [&](std::map<std::string, const Intake*>& taken, const std::string& key, const char* what) {
      const auto [at, fresh] = taken.emplace(key, &intake);
      if (!fresh) {
        problems.push_back({file, intake.mark, std::string("the ") + what + " " + key + " is already the intake \"" +
                                                   at->second->name + "\"'s; each has one intake"});
      }
    };
    if (const auto* folder = std::get_if<FolderIntake>(&intake.source)) {
      if (folder->path.empty()) continue;
      std::error_code failed;
      if (!std::filesystem::exists(folder->path, failed)) {
        problems.push_back({file, intake.mark, "the folder " + folder->path.string() + " does not exist; make it, or name another"});
      } else if (!std::filesystem::is_directory(folder->path, failed)) {
        problems.push_back({file, intake.mark, folder->path.string() + " is no folder"});
      }
      once(folders, folder_key(folder->path), "folder");
    } else if (const auto* serial = std::get_if<SerialIntake>(&intake.source)) {
      if (!serial->device.empty()) once(devices, serial->device, "device");
    }
  }
}

}  // namespace

Loaded load(const std::filesystem::path& file) {
  Loaded loaded;
  const std::filesystem::path absolute = std::filesystem::absolute(file);
  const auto text = read_text(absolute, file.string(), {}, "the configuration", loaded.problems);
  if (!text) return loaded;
  TopLevel top = parse_top(*text, absolute, loaded.problems);
  loaded.settings = std::move(top.settings);
  const std::string named_in = absolute.string();
  if (top.policy) {
    const auto policy_text = read_text(top.policy->path, named_in, top.policy->mark, "the policy", loaded.problems);
    if (policy_text) {
      if (auto policy = parse_policy(*policy_text, top.policy->path.string(), loaded.problems)) {
        loaded.settings.policy = std::move(*policy);
      }
    }
  }
  for (size_t i = 0; i < top.mappings.size(); ++i) {
    const NamedFile& named = top.mappings[i];
    if (named.path.empty()) continue;
    const auto mapping_text = read_text(named.path, named_in, named.mark, "the mapping", loaded.problems);
    if (!mapping_text) continue;
    if (auto mapping = parse_mapping(*mapping_text, named.path.string(), loaded.problems)) {
      loaded.settings.intakes[i].mapping = std::move(*mapping);
    }
  }
  check_sources(loaded.settings, loaded.problems);
  return loaded;
}

LoadedTable load_table(const std::filesystem::path& file) {
  LoadedTable loaded;
  const auto text = read_text(file, file.string(), {}, "the table", loaded.problems);
  if (!text) return loaded;
  if (auto table = parse_table(*text, file.string(), loaded.problems)) loaded.table = std::move(*table);
  return loaded;
}

}  // namespace girdle::config
