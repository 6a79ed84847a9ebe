// All that must be right before the service starts: what `girdled check` says, and what `run` and a reload begin with.
#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <vector>

#include "config/load.h"
#include "reading/reader.h"
#include "service/house_builder.h"

namespace girdle::service {

struct Checked {
  config::Settings settings;
  std::optional<BuiltHouse> built;
  std::vector<std::shared_ptr<reading::Reader>> readers;  // one an intake, in their order
  config::Problems problems;                              // in the order of files and lines

  bool ok() const { return problems.empty(); }
};

// Reads the configuration and what it names, compiles scopes, policy and mappings, loads the readers, and looks at
// secrets and addresses. Writes nothing, opens no device and no connection.
Checked check(const std::filesystem::path& config_file);

// Where the readers that ship with girdled lie, seen from the program.
std::vector<std::filesystem::path> own_reader_folders();

}  // namespace girdle::service
