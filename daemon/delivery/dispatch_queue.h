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
//
// Two lanes: what has just been decided, and what waited in the ledger. They are taken in turns, so
// that a week's backlog does not keep a stone on the counter waiting, nor the counter the backlog.
class DispatchQueue {
 public:
  static constexpr size_t kMost = 1000;  // in a lane
  static constexpr size_t kLoad = 500;  // asked for at a time
  static constexpr size_t kLow = 500;   // fewer than this, and more is asked for

  // A head fresh from its commit.
  void offer(model::Delivery&& head, base::Instant now);
  // What has become the head of its case by a durable mark.
  void follow(model::Delivery&& head, base::Instant now);

  bool empty() const { return size() == 0; }
  size_t size() const { return fresh_.size() + backlog_.size(); }
  bool wants_more() const { return backlog_.size() < kLow; }
  // Since when the longest waiting one has been here. Only when not empty().
  base::Instant since() const;
  // Takes the longest waiting head of the lane whose turn it is; it stays held. Only when not
  // empty().
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
  struct Ready {
    model::Delivery head;
    base::Instant since;
  };
  using Lane = std::deque<Ready>;
  void admit(model::Delivery&& head, base::Instant now, Lane& lane);
  void hold(model::Delivery&& head, base::Instant now, Lane& lane);
  void forget(Lane& lane);

  Lane fresh_, backlog_;
  bool fresh_next_ = true;  // whose turn it is
  std::unordered_set<int64_t> held_;
  // Released since the load began: its result may still show them as they were before.
  std::unordered_set<int64_t> released_;
  bool loading_ = false;
  bool more_ = true;  // the ledger may hold heads that are due and not in memory
  base::Instant next_due_ = base::Instant::max();
};

}  // namespace girdle::delivery
