// What an outlet may be sent next, and when to ask the ledger for more: state without I/O.
#pragma once

#include <cstdint>
#include <deque>
#include <unordered_set>
#include <vector>

#include "base/clock.h"
#include "model/outcome.h"

namespace girdle::delivery {

// Holds a bounded number of heads in memory; all others wait in the ledger, and it remembers that
// there are some. A delivery is held from when it comes in until its mark is durable: it never
// comes in twice meanwhile.
class DispatchQueue {
 public:
  static constexpr size_t kMost = 1000;
  static constexpr size_t kLoad = 500;  // asked for at a time
  static constexpr size_t kLow = 500;   // fewer than this, and more is asked for

  // A head from the ledger's commit, or from a durable mark.
  void offer(model::Delivery&& head, base::Instant now);

  bool empty() const { return ready_.empty(); }
  size_t size() const { return ready_.size(); }
  // Takes the longest waiting head; it stays held. Only when not empty().
  model::Delivery take();

  // The delivery's mark is durable; `due`, when it waits for another attempt.
  void release(int64_t delivery);
  void release_until(int64_t delivery, base::Instant due);

  // Something in the ledger may have come due.
  void expect_more() { more_ = true; }

  // True when the ledger should be asked now; then begin_load() tells which deliveries not to give.
  bool wants_load(base::Instant now);
  std::vector<int64_t> begin_load();
  void end_load(std::vector<model::Delivery> heads, base::Instant next_due, base::Instant now);
  bool loading() const { return loading_; }

  // When wants_load() may become true by itself; Instant::max() = never.
  base::Instant next_due() const { return next_due_; }
  // Neither held nor known to be due.
  bool idle(base::Instant now) const {
    return held_.empty() && !loading_ && !more_ && next_due_ > now;
  }

  // Forgets what is ready; it waits in the ledger.
  void clear();

 private:
  void hold(model::Delivery&& head);

  std::deque<model::Delivery> ready_;
  std::unordered_set<int64_t> held_;
  // Released since the load began: its result may still show them as they were before.
  std::unordered_set<int64_t> released_;
  bool loading_ = false;
  bool more_ = true;  // the ledger may hold heads that are due and not in memory
  base::Instant next_due_ = base::Instant::max();
};

}  // namespace girdle::delivery
