// The parts of the configuration, each read from its checked tree. Inside config/ only.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "base/time.h"
#include "config/files.h"
#include "config/problem.h"
#include "config/section.h"
#include "config/settings.h"
#include "model/words.h"

namespace girdle::config {

// A path as texts of problems show it: whole, and in one line.
std::string shown(const std::filesystem::path& path);

// The keys of counts and shares: the first five findings are identities.
inline std::string_view finding_word(size_t finding) {
  return model::text(static_cast<model::Finding>(finding));
}

// What the readers of girdled.yaml share.
struct Desk {
  const Files& files;
  const Report& report;
  std::filesystem::path folder;  // of girdled.yaml

  std::filesystem::path path(const std::string& text) const {
    return (folder / text).lexically_normal();
  }
  // "key: text" at the key's value.
  void problem(const Section& section, std::string_view key, const std::string& text) const {
    report(section.mark(key), std::string(key) + ": " + text);
  }
  // Reports a path that names no file, or no folder.
  void needs_file(const Section& section, std::string_view key) const;
  // The path of a file that is there; else empty, and told.
  std::filesystem::path file(const Section& section, std::string_view key) const;
  SecretFile secret(const Section& section, std::string_view key) const;
  void needs_folder(const Mark& mark, std::string_view key,
                    const std::filesystem::path& path) const;
};

// A file that girdled.yaml names; read by load().
struct NamedFile {
  std::filesystem::path path;  // empty: none
  Mark mark;
};

struct TopLevel {
  Settings settings;
  NamedFile policy, next_policy, shadow_policy;
  std::vector<NamedFile> mappings;  // one an intake
};

TopLevel read_settings(const Section& root, const Desk& desk);
std::vector<Instrument> read_instruments(const Section& root, const Desk& desk);
// Leaves the intakes' mappings empty, and appends their files.
std::vector<Intake> read_intakes(const Section& root, const Desk& desk,
                                 std::vector<NamedFile>& mappings);
// No outlet writes where one of these intakes reads.
std::vector<Outlet> read_outlets(const Section& root, const Desk& desk,
                                 const std::vector<Intake>& intakes);

struct MappingFile {
  model::Mapping mapping;
  bool whole = false;  // otherwise only the fields whose rules are right
};

// Check the tree too, and give what is right of it.
MappingFile read_mapping(const Node& root, const Report& report);
// In `zone` a date begins.
Policy read_policy(const Node& root, const base::Zone& zone, const Report& report);
DecisionTable read_table(const Node& root, const Report& report);

}  // namespace girdle::config
