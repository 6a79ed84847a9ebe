// Sends an outlet's deliveries: in order per case, side by side across cases, again by the schedule
// when it fails. How they travel is the senders' business.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <cstdint>
#include <memory>
#include <optional>
#include <vector>

#include "base/clock.h"
#include "base/log.h"
#include "base/result.h"
#include "config/settings.h"
#include "delivery/outbox.h"
#include "delivery/outlet_meters.h"
#include "delivery/sender.h"
#include "model/outcome.h"

namespace girdle::delivery {

// One per outlet. All calls come from the one thread that runs `executor`; the objects that it was
// given outlive it.
class Dispatcher {
 public:
  struct Surroundings {
    boost::asio::any_io_executor executor;
    Outbox& outbox;
    const base::Clock& clock;
    base::Log log;
    uint64_t seed = 0;  // of the jitter
    OutletMeters* meters = nullptr;  // where durations are counted; null = nowhere
  };

  // `outlet_number` is the outlet's number in the ledger. As many attempts may be under way as there are `senders`.
  Dispatcher(const config::Outlet& outlet, int64_t outlet_number, Surroundings surroundings,
             std::vector<std::unique_ptr<Sender>> senders);
  // Only when run() has ended, or was never started. A `done` of the outbox that comes later does
  // nothing.
  ~Dispatcher();

  // Heads fresh from their commit: sent without asking the ledger. Beyond 1,000 waiting in memory
  // they are dropped here; the ledger has them, and is asked later.
  void offer(std::vector<model::Delivery> heads);

  // Batches wait no longer for what may still come: there is nothing more to come.
  void hurry();

  // Something may have come due without an offer: a person resent a delivery, the clock was moved.
  void wake();

  // Sends until it is cancelled (terminal). Then it takes nothing new, gives attempts under way and
  // marks a short time to end, and returns within a second. At most once.
  boost::asio::awaitable<void> run();

  // Nothing can be done now: all that is due was attempted and marked, or the receiver fails or is
  // gone and the rest waits in the ledger. False until the ledger was asked for the first time.
  bool idle() const;

  struct Counts {
    int64_t attempts = 0, sent = 0, failed = 0, parked = 0;  // failed: attempts that were not sent
    bool failing = false;  // the last attempt found the receiver unable
    bool closed = false;   // 410, until open()
    bool paused = false;   // by a person, until open()
    uint64_t in_flight = 0;  // attempts under way
    uint64_t in_memory = 0;  // deliveries that are ready here; the others wait in the ledger
    // Nothing is tried before that, whatever is due: the receiver fails, or asked to be left alone.
    std::optional<base::Instant> resting_until;
  };
  Counts counts() const;

  // A person stops the outlet: what is under way ends, nothing new is sent.
  void pause();
  // As it was closed by a 410, before this start.
  void close();
  // A person opened the outlet again.
  void open();

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace girdle::delivery
