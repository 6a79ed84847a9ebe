// How a reader is run that does not share girdled's process.
#pragma once

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <stop_token>

namespace girdle::reading {

using SteadyTime = std::chrono::steady_clock::time_point;

struct Isolation {
  std::filesystem::path host;  // the program girdled-reader-host

  // A reader has this long for a document, and a second more for each MiB of it; and this long to
  // be loaded. Only the time counts in which it is waited for.
  std::chrono::milliseconds patience{10'000};
  // Of the process's address space, besides what records of the limit need.
  uint64_t memory = uint64_t{256} << 20;
  // Of processor time in its life; before it comes so far, another process takes its place.
  std::chrono::seconds cpu{600};

  // For tests.
  std::function<SteadyTime()> now = &std::chrono::steady_clock::now;
  // Ends the waiting for a reader that is tried; see Reader::open.
  std::stop_token stop;
};

}  // namespace girdle::reading
