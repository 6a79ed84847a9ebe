#include "delivery/dispatch_queue.h"

#include <algorithm>
#include <utility>

namespace girdle::delivery {

void DispatchQueue::hold(model::Delivery&& head, base::Instant now, Lane& lane) {
  if (held_.insert(head.id).second) lane.push_back({std::move(head), now});
}

void DispatchQueue::admit(model::Delivery&& head, base::Instant now, Lane& lane) {
  if (head.due > now) {
    next_due_ = std::min(next_due_, head.due);
  } else if (lane.size() >= kMost) {
    more_ = true;
  } else {
    hold(std::move(head), now, lane);
  }
}

void DispatchQueue::offer(model::Delivery&& head, base::Instant now) { admit(std::move(head), now, fresh_); }
void DispatchQueue::follow(model::Delivery&& head, base::Instant now) { admit(std::move(head), now, backlog_); }

base::Instant DispatchQueue::since() const {
  if (fresh_.empty()) return backlog_.front().since;
  return backlog_.empty() ? fresh_.front().since : std::min(fresh_.front().since, backlog_.front().since);
}

model::Delivery DispatchQueue::take() {
  const bool fresh = backlog_.empty() || (fresh_next_ && !fresh_.empty());
  fresh_next_ = !fresh;
  Lane& lane = fresh ? fresh_ : backlog_;
  model::Delivery head = std::move(lane.front().head);
  lane.pop_front();
  return head;
}

void DispatchQueue::release(int64_t delivery) {
  held_.erase(delivery);
  if (loading_) released_.insert(delivery);
}

void DispatchQueue::release_until(int64_t delivery, base::Instant due) {
  release(delivery);
  next_due_ = std::min(next_due_, due);
}

bool DispatchQueue::wants_load(base::Instant now) {
  if (next_due_ <= now) {
    more_ = true;
    next_due_ = base::Instant::max();  // the load tells anew
  }
  return more_ && !loading_ && wants_more();
}

std::vector<int64_t> DispatchQueue::begin_load() {
  loading_ = true;
  more_ = false;
  released_.clear();
  return {held_.begin(), held_.end()};
}

void DispatchQueue::end_load(std::vector<model::Delivery> heads, base::Instant next_due,
                             base::Instant now) {
  // A ledger that says that something is due and gives nothing must not keep us busy.
  static constexpr base::Millis kPause{1000};
  loading_ = false;
  if (heads.size() >= kLoad) more_ = true;
  if (heads.empty() && next_due <= now) next_due = now + kPause;
  next_due_ = std::min(next_due_, next_due);
  for (model::Delivery& head : heads) {
    if (!released_.contains(head.id)) hold(std::move(head), now, backlog_);
  }
  released_.clear();
}

void DispatchQueue::forget(Lane& lane) {
  for (const Ready& ready : lane) held_.erase(ready.head.id);
  lane.clear();
}

void DispatchQueue::clear() {
  forget(fresh_);
  forget(backlog_);
  more_ = true;
}

}  // namespace girdle::delivery
