#include "delivery/fake_outbox.h"

#include <algorithm>
#include <boost/asio/post.hpp>

namespace girdle::delivery {

using model::DeliveryState;

const FakeOutbox::Row* FakeOutbox::head_of(int64_t outlet, int64_t case_number) const {
  for (const auto& [id, row] : rows_) {
    if (row.state == DeliveryState::kWaiting && row.delivery.outlet == outlet &&
        row.delivery.case_number == case_number) {
      return &row;
    }
  }
  return nullptr;
}

bool FakeOutbox::add(model::Delivery delivery) {
  const int64_t id = delivery.id;
  const bool head = head_of(delivery.outlet, delivery.case_number) == nullptr;
  rows_[id] = {std::move(delivery), DeliveryState::kWaiting};
  return head;
}

void FakeOutbox::load(int64_t outlet, base::Instant now, size_t limit,
                      const std::vector<int64_t>& except, Loaded done) {
  ++loads_;
  const std::set<int64_t> held(except.begin(), except.end());
  std::set<int64_t> cases;
  std::vector<model::Delivery> heads;
  base::Instant next_due = base::Instant::max();
  for (const auto& [id, row] : rows_) {
    if (row.state != DeliveryState::kWaiting || row.delivery.outlet != outlet) continue;
    if (!cases.insert(row.delivery.case_number).second || held.contains(id)) continue;
    if (row.delivery.due > now || heads.size() == limit) {
      next_due = std::min(next_due, row.delivery.due);
    } else {
      heads.push_back(row.delivery);
    }
  }
  boost::asio::post(
      io_, [done = std::move(done), heads = std::move(heads), next_due] { done(heads, next_due); });
}

void FakeOutbox::mark(Mark mark, Marked done) {
  if (holding_) {
    held_.emplace_back(std::move(mark), std::move(done));
    return;
  }
  boost::asio::post(io_,
                    [this, mark = std::move(mark), done = std::move(done)] { finish(mark, done); });
}

void FakeOutbox::finish(const Mark& mark, const Marked& done) {
  if (failing_ > 0) {
    --failing_;
    done(false, std::nullopt);
    return;
  }
  Row& row = rows_.at(mark.delivery);
  row.state = mark.state;
  row.delivery.attempts = mark.attempts;
  row.delivery.due = mark.due;
  marks_.push_back(mark);
  std::optional<model::Delivery> next;
  if (mark.state != DeliveryState::kWaiting) {
    if (const Row* const head = head_of(row.delivery.outlet, row.delivery.case_number))
      next = head->delivery;
  }
  done(true, std::move(next));
}

void FakeOutbox::release_marks() {
  holding_ = false;
  for (auto& [mark, done] : std::exchange(held_, {})) this->mark(std::move(mark), std::move(done));
}

bool FakeOutbox::is_overtaken(const model::Delivery& delivery) {
  return std::any_of(rows_.begin(), rows_.end(), [&](const auto& entry) {
    const model::Delivery& other = entry.second.delivery;
    return entry.second.state == DeliveryState::kWaiting && other.outlet == delivery.outlet &&
           other.case_number == delivery.case_number && other.outcome.sequence > delivery.outcome.sequence;
  });
}

void FakeOutbox::close_outlet(int64_t, std::string reason) { closed_ = std::move(reason); }

size_t FakeOutbox::count(DeliveryState state) const {
  return static_cast<size_t>(std::count_if(
      rows_.begin(), rows_.end(), [&](const auto& entry) { return entry.second.state == state; }));
}

}  // namespace girdle::delivery
