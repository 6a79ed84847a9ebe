// The pipeline: joins intakes, the writer and the dispatchers; starts, reloads and stops them.
//
//   intake thread    bytes → frames and files → readings         (this thread runs run())
//   writer thread    readings → cases, outcomes → the ledger     (one, with group commit)
//   delivery thread  outcomes → outlets
//
// Back-pressure goes the other way: a slow disk fills the writer's queue, and the intakes wait for room in it; a slow
// outlet leaves its deliveries in the ledger.
#pragma once

#include <filesystem>
#include <memory>

#include "base/clock.h"
#include "base/log.h"
#include "base/result.h"
#include "service/check.h"

namespace girdle::service {

struct RunOptions {
  std::filesystem::path config_file;
  bool once = false;  // take in what is there, deliver what is due, stop
};

// Runs until SIGTERM or SIGINT (or, with `once`, until done). SIGHUP reads the configuration anew, and keeps the old one
// when the new one is wrong. Gives the exit code: 0 done; 1 with `once`, when something was set aside or could not be
// delivered, or when the ledger turned out damaged; 3 when the environment failed. At most one in a process: it takes
// the signals.
base::Result<int> run(Checked checked, const RunOptions& options, base::Clock& clock, const base::Log& log);

}  // namespace girdle::service
