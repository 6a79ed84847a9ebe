// girdled.yaml, and the mappings and the policies that it names, as Settings.
//
// Reads only: no folder is made, no device opened. All that is wrong is told in one pass, in the
// order of the files; see README.md for the keys. Cells, scopes, addresses, secrets and the
// readers' options are compiled by those whose they are; service/check.h adds what they say. Any
// thread.
#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "config/files.h"
#include "config/problem.h"
#include "config/settings.h"

namespace girdle::config {

struct Loaded {
  // As far as it could be read, so that others can add what they find wrong; a service is started
  // with it only when there are no problems.
  Settings settings;
  Problems problems;  // none: all is well

  bool ok() const { return problems.empty(); }
};

Loaded load(const std::filesystem::path& file);
// `file` is absolute; paths in problems are too.
Loaded load(const std::filesystem::path& file, const Files& files);

struct LoadedTable {
  DecisionTable table;  // as far as it could be read
  Problems problems;
};

// A decision table file by itself, for `girdled decide`. JSON is read too: it is YAML.
LoadedTable load_table(const std::filesystem::path& file);
LoadedTable load_table(const std::filesystem::path& file, const Files& files);

struct LoadedPolicy {
  Policy policy;  // as far as it could be read
  Problems problems;
};

// A policy file by itself, for `girdled backtest`. A date in it begins in `timezone`, a name that
// base::Zone knows (else in UTC): that of the site, where there is one.
LoadedPolicy load_policy(const std::filesystem::path& file, const std::string& timezone = "UTC");
LoadedPolicy load_policy(const std::filesystem::path& file, const std::string& timezone,
                         const Files& files);

}  // namespace girdle::config
