// All that must be right before the service starts: what `girdled check` says, and what `run` and a reload begin with.
#pragma once

#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <stop_token>
#include <vector>

#include "base/clock.h"
#include "base/result.h"
#include "config/load.h"
#include "reading/reader.h"
#include "service/house_builder.h"

namespace girdle::service {

struct Checked {
  config::Settings settings;
  // Of the policy in force, of the one that takes over later, and of the one in the shadow.
  std::optional<Rules> rules, next, shadow;
  std::vector<std::shared_ptr<reading::Reader>> readers;  // one an intake, in their order
  // Opens another of the same, for whoever reads beside the intake; in the same order.
  using OpenReader = std::function<base::Result<std::shared_ptr<reading::Reader>>()>;
  std::vector<OpenReader> more_readers;
  config::Problems problems;                              // in the order of files and lines
  config::Problems notices;  // not wrong, and worth a look; in the same order

  bool ok() const { return problems.empty(); }
};

// Reads the configuration and what it names, compiles scopes, policy and mappings, loads the readers (those that are
// isolated in processes of their own, which have ended when it returns), and looks at secrets and addresses.
// Writes nothing, opens no device and no connection. Whoever asks it to stop wants no answer any more: it then does not
// wait for readers.
//
// `now` chooses the policy: `next_policy` from its valid_from on, `policy` until then. In `settings` the one in force
// stands as `policy`.
//
// With `draft` that policy stands in the place of the one in force, whatever its valid_from: to try one.
Checked check(const std::filesystem::path& config_file, base::Instant now, const std::stop_token& stop = {},
              const std::filesystem::path& draft = {});

// Puts `next_policy` in the place of `policy` where its time has come.
void choose_policy(config::Settings& settings, base::Instant now);

// Where the readers that ship with girdled lie, seen from the program.
std::vector<std::filesystem::path> own_reader_folders();
// Of a reader that is to have a process of its own: how. Readers that ship with girdled are as trusted as it is itself;
// any other is isolated, unless the intake says otherwise.
std::optional<reading::Isolation> isolation_of(config::Intake::Isolate isolate, const reading::Manifest& manifest,
                                               const std::stop_token& stop = {});
// girdled-reader-host, seen from the program.
std::filesystem::path reader_host_program();

}  // namespace girdle::service
