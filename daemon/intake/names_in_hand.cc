#include "intake/names_in_hand.h"

#include <bit>
#include <functional>
#include <iterator>

namespace girdle::intake {

NamesInHand::NamesInHand(size_t capacity)
    : capacity_(capacity), buckets_(std::bit_ceil(2 * capacity), nullptr) {}

InHand* NamesInHand::find(std::string_view name) {
  const size_t bucket = std::hash<std::string_view>()(name) & (buckets_.size() - 1);
  InHand* entry = buckets_[bucket];
  while (entry != nullptr && entry->name != name) entry = entry->next_in_bucket;
  return entry;
}

InHand& NamesInHand::take(std::string_view name) {
  if (free_.empty()) free_.emplace_back();
  taken_.splice(taken_.end(), free_, free_.begin());
  InHand& entry = taken_.back();
  entry.self = std::prev(taken_.end());
  entry.name.assign(name);
  entry.stage = InHand::Stage::kTaken;
  entry.again = entry.complete = entry.verify = entry.move = false;
  entry.seen = {};
  entry.bucket = std::hash<std::string_view>()(name) & (buckets_.size() - 1);
  entry.next_in_bucket = buckets_[entry.bucket];
  buckets_[entry.bucket] = &entry;
  return entry;
}

std::list<InHand>& NamesInHand::list_of(InHand::Stage stage) {
  switch (stage) {
    case InHand::Stage::kWaiting:
      return waiting_;
    case InHand::Stage::kReady:
      return ready_;
    case InHand::Stage::kTaken:
      return taken_;
    case InHand::Stage::kInFlight:
      return in_flight_;
  }
  return taken_;
}

void NamesInHand::move(InHand& entry, InHand::Stage stage) {
  std::list<InHand>& to = list_of(stage);
  to.splice(to.end(), list_of(entry.stage), entry.self);
  entry.stage = stage;
}

void NamesInHand::wait(InHand& entry, SteadyTime due) {
  entry.due = due;
  // Nearly all waits are of one length, so the place is nearly always the last.
  auto at = waiting_.end();
  while (at != waiting_.begin() && std::prev(at)->due > due) --at;
  waiting_.splice(at, list_of(entry.stage), entry.self);
  entry.stage = InHand::Stage::kWaiting;
}

void NamesInHand::drop(InHand& entry) {
  InHand** link = &buckets_[entry.bucket];
  while (*link != &entry) link = &(*link)->next_in_bucket;
  *link = entry.next_in_bucket;
  free_.splice(free_.begin(), list_of(entry.stage), entry.self);
}

InHand* NamesInHand::next(SteadyTime now) {
  InHand* entry = nullptr;
  if (!ready_.empty()) {
    entry = &ready_.front();
  } else if (!waiting_.empty() && waiting_.front().due <= now) {
    entry = &waiting_.front();
  }
  if (entry != nullptr) move(*entry, InHand::Stage::kTaken);
  return entry;
}

SteadyTime NamesInHand::next_due() const {
  return waiting_.empty() ? SteadyTime::max() : waiting_.front().due;
}

void NamesInHand::drop_all_at_rest() {
  while (!waiting_.empty()) drop(waiting_.front());
  while (!ready_.empty()) drop(ready_.front());
}

}  // namespace girdle::intake
