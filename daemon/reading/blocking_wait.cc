#include "reading/blocking_wait.h"

#include <poll.h>

#include <algorithm>

namespace girdle::reading {
namespace {

using std::chrono::milliseconds;
constexpr milliseconds kLookForStop{50};

}  // namespace

void block(const Wait& wait, const std::stop_token& stop) {
  const short what = wait.to_write ? POLLIN | POLLOUT : POLLIN;
  pollfd ready{wait.descriptor, what, 0};  // a negative descriptor is passed over
  while (!stop.stop_requested()) {
    const auto left =
        std::chrono::ceil<milliseconds>(wait.until - std::chrono::steady_clock::now());
    const auto most = stop.stop_possible() ? kLookForStop : milliseconds{3'600'000};
    const auto time = std::clamp(left, milliseconds{0}, most);
    if (::poll(&ready, 1, static_cast<int>(time.count())) != 0 || left <= most) return;
  }
}

}  // namespace girdle::reading
