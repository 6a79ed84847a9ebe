// girdled.yaml, and the mappings and the policy that it names, as Settings.
#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "config/problem.h"
#include "config/settings.h"

namespace girdle::config {

struct Loaded {
  // As far as it could be read; complete when there are no problems, and only then to be used.
  Settings settings;
  Problems problems;  // all that is wrong, in one pass

  bool ok() const { return problems.empty(); }
};

// Touches nothing; reads the file, what it names, and whether folders and devices are there.
Loaded load(const std::filesystem::path& file);

struct LoadedTable {
  DecisionTable table;
  Problems problems;
};

// A decision table file by itself (design of the file: README.md), for `girdled decide`.
LoadedTable load_table(const std::filesystem::path& file);

// The parts, from text; `file` is for messages. For tests and fuzzers too.
std::optional<model::Mapping> parse_mapping(const std::string& text, const std::string& file, Problems& problems);
std::optional<Policy> parse_policy(const std::string& text, const std::string& file, Problems& problems);
std::optional<DecisionTable> parse_table(const std::string& text, const std::string& file, Problems& problems);
// What girdled.yaml itself says; other files are not looked at. Paths are taken relative to the folder of `file`.
struct NamedFile {
  std::filesystem::path path;
  Mark mark;
};
struct TopLevel {
  Settings settings;
  std::optional<NamedFile> policy;
  std::vector<NamedFile> mappings;  // one an intake
};
TopLevel parse_top(const std::string& text, const std::filesystem::path& file, Problems& problems);

}  // namespace girdle::config
