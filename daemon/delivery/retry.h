// What an attempt's end means for a delivery: a pure function.
//
// After Standard Webhooks 1.0.0 (deliverability and reliability), CloudEvents HTTP web hooks 1.0.2
// section 2.2 and RFC 9110: 2xx sent; 410 closes the outlet; 408, 425, 429, 5xx and no answer at
// all are tried again by the schedule; other answers are tried three times (common practice, no
// source), then parked; nothing is ever redirected. A folder that cannot take a file is like a
// receiver that cannot be reached.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "base/clock.h"
#include "delivery/sender.h"

namespace girdle::delivery {

// What became of a message, however often it was tried.
enum class Meaning {
  kSent,
  kGone,     // the receiver takes nothing more
  kBusy,     // it cannot take anything at present
  kRefused,  // it does not take this message
};
Meaning meaning_of(const Attempt& attempt);

struct Verdict {
  enum class Kind {
    kSent,
    kRetry,        // after `wait`
    kPark,         // given up until a person resends it
    kCloseOutlet,  // nothing more goes there until a person opens it
  };
  Kind kind = Kind::kSent;
  base::Millis wait{0};
  // The receiver cannot take anything at present; otherwise it was this message that it did not
  // take.
  bool outlet_failing = false;
  // How long the receiver asked to be left alone, by Retry-After; 0 = it did not.
  base::Millis asked{0};
  std::string note;  // for a person: what happened and what would be right; empty when sent
};

inline constexpr int64_t kTriesOfRefused = 3;
inline constexpr base::Millis kLongestRetryAfter = std::chrono::hours(24);

// `attempts`: made so far, this one included. `schedule`: waits between attempts. `random`: from 0
// up to 1, spreads each wait by ±10 %. Retry-After is obeyed up to 24 hours, and never shortens the
// schedule's wait. `now` is the time of day, for a Retry-After that is a date.
// Nothing is waited for longer than this after an attempt.
base::Millis longest_wait(std::span<const base::Millis> schedule);

Verdict judge(const Attempt& attempt, int64_t attempts, std::span<const base::Millis> schedule,
              base::Instant now, double random);

}  // namespace girdle::delivery
