// What becomes of the bytes of a line: they are cut into frames and handed to the sink, and the
// device is answered where its frames ask for it. Bounded: a full desk stops the reading of the
// line.
//
// On the intake's thread.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <cstdint>
#include <functional>
#include <memory>
#include <string_view>

#include "intake/bell.h"
#include "intake/intake.h"
#include "intake/names_in_hand.h"

namespace girdle::intake {

class LineDesk {
 public:
  virtual ~LineDesk() = default;

  // What the line gave.
  virtual void feed(std::string_view bytes) = 0;
  // A byte that came with a parity or framing error, or a break (0).
  virtual void feed_damaged(char byte) = 0;
  // The line is there (again); it was lost.
  virtual void opened() {}
  virtual void lost() = 0;

  // Hands over what came since the last time, and what failed and is due again.
  virtual boost::asio::awaitable<void> hand_over() = 0;
  // When there is something to do though nothing comes; time_point::max() when there is not.
  virtual SteadyTime next_due() const = 0;
  virtual bool is_full() const = 0;
  virtual size_t in_flight() const = 0;

  // What is lost if the intake ends now: bytes of a frame that is not complete, and frames that
  // were not handed over. None where the device sends again what was not acknowledged.
  virtual uint64_t unfinished() const = 0;
  virtual size_t waiting() const = 0;

  // What the device is to be told, at most a few bytes; answered() when they are on their way.
  // Never waits for a device that takes nothing: a newer answer takes the place of an older one.
  virtual std::string_view answer() const { return {}; }
  virtual void answered() {}

  // Adds what it counted.
  virtual void report(Status&) const {}
};

// `bell` and `status` live longer than the desk.
using MakeDesk = std::function<std::unique_ptr<LineDesk>(Bell& bell, Status& status)>;

}  // namespace girdle::intake
