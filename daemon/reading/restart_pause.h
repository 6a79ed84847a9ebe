// How long to wait before a reader's process is started again: not at all after one failure, so
// that one bad document costs nobody else any time; then longer and longer, so that a reader that
// fails at every document does not keep the machine busy with starting it.
#pragma once

#include <algorithm>
#include <chrono>

#include "reading/isolation.h"

namespace girdle::reading {

class RestartPause {
 public:
  static constexpr std::chrono::milliseconds kFirst{100}, kMost{2000};

  void failed(SteadyTime now) {
    until_ = now + pause_;
    pause_ = std::clamp(2 * pause_, kFirst, kMost);
  }
  // A document was read.
  void went_well() {
    pause_ = {};
    until_ = {};
  }
  // The earliest time of the next start.
  SteadyTime until() const { return until_; }

 private:
  std::chrono::milliseconds pause_{0};
  SteadyTime until_{};
};

}  // namespace girdle::reading
