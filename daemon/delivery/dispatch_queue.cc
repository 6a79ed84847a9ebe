#include "delivery/dispatch_queue.h"

#include <algorithm>
#include <utility>

namespace girdle::delivery {

void DispatchQueue::hold(model::Delivery&& head) {
  if (held_.insert(head.id).second) ready_.push_back(std::move(head));
}

void DispatchQueue::offer(model::Delivery&& head, base::Instant now) {
  if (head.due > now) {
    next_due_ = std::min(next_due_, head.due);
  } else if (ready_.size() >= kMost) {
    more_ = true;
  } else {
    hold(std::move(head));
  }
}

model::Delivery DispatchQueue::take() {
  model::Delivery head = std::move(ready_.front());
  ready_.pop_front();
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
  return more_ && !loading_ && ready_.size() < kLow;
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
    if (!released_.contains(head.id)) hold(std::move(head));
  }
  released_.clear();
}

void DispatchQueue::clear() {
  for (const model::Delivery& head : ready_) held_.erase(head.id);
  ready_.clear();
  more_ = true;
}

}  // namespace girdle::delivery
