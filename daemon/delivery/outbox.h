// What delivery asks of the ledger. The service implements it; delivery knows no database.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "base/clock.h"
#include "model/outcome.h"
#include "model/words.h"

namespace girdle::delivery {

// All calls, and all `done`, on the delivery thread; `done` never from inside the call. A head is a
// waiting delivery whose case has no earlier waiting one on the same outlet: only heads may leave
// the outbox, which is what keeps each case in order.
class Outbox {
 public:
  virtual ~Outbox() = default;

  // Up to `limit` heads of the outlet that are due at `now`, the longest due first, without those
  // in `except`; and when the first of the other heads comes due (Instant::max() when there is
  // none), those in `except` not counted. The result may be older than a mark() that has been done
  // since; the dispatcher sorts that out.
  using Loaded = std::function<void(std::vector<model::Delivery> heads, base::Instant next_due)>;
  virtual void load(int64_t outlet, base::Instant now, size_t limit,
                    const std::vector<int64_t>& except, Loaded done) = 0;

  // How a delivery stands after an attempt.
  struct Mark {
    int64_t delivery = 0;
    model::DeliveryState state = model::DeliveryState::kSent;
    int64_t attempts = 0;  // made so far
    base::Instant due{};   // of the next attempt, while waiting
    int status = 0;        // of the answer; 0 = none came
    std::string note;      // for a person; empty when sent
    std::string reference{};  // the receiver's own name for it; empty = none
    // Of the attempt that ended so; nothing where none was made.
    struct Made {
      base::Instant at{};
      base::Millis took{};
      std::string answer;  // its first bytes
    };
    std::optional<Made> made{};
  };
  // `done` after the commit; `durable` is false when there was none, and the mark is asked for
  // again later. When the delivery is waiting no longer, `next` is the one that has become the head
  // of its case, if any.
  using Marked = std::function<void(bool durable, std::optional<model::Delivery> next)>;
  virtual void mark(Mark mark, Marked done) = 0;

  // A later outcome of the delivery's case waits for the same outlet.
  virtual bool is_overtaken(const model::Delivery& delivery) = 0;

  // The receiver is gone (410): nothing goes to this outlet until a person opens it.
  virtual void close_outlet(int64_t outlet, std::string reason) = 0;
};

}  // namespace girdle::delivery
