// An outbox in memory that keeps the contract of delivery/outbox.h, and can be told to be slow or
// to fail.
#pragma once

#include <boost/asio/io_context.hpp>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "delivery/outbox.h"

namespace girdle::delivery {

// On the thread that runs `io`, like its user.
class FakeOutbox final : public Outbox {
 public:
  explicit FakeOutbox(boost::asio::io_context& io) : io_(io) {}

  // Puts a waiting delivery into the ledger; true when it is a head now.
  bool add(model::Delivery delivery);

  void load(int64_t outlet, base::Instant now, size_t limit, const std::vector<int64_t>& except,
            Loaded done) override;
  void mark(Mark mark, Marked done) override;
  bool is_overtaken(const model::Delivery& delivery) override;
  void close_outlet(int64_t outlet, std::string reason) override;

  model::DeliveryState state(int64_t id) const { return rows_.at(id).state; }
  size_t count(model::DeliveryState state) const;
  const std::vector<Mark>& marks() const { return marks_; }  // that were made durable, in order
  int loads() const { return loads_; }
  const std::string& closed() const { return closed_; }  // the reason; empty = open

  // While it holds, marks wait for release_marks().
  void hold_marks() { holding_ = true; }
  void release_marks();
  size_t held() const { return held_.size(); }
  // The next `count` marks are not durable.
  void fail_marks(int count) { failing_ = count; }

 private:
  struct Row {
    model::Delivery delivery;
    model::DeliveryState state = model::DeliveryState::kWaiting;
  };
  void finish(const Mark& mark, const Marked& done);
  const Row* head_of(int64_t outlet, int64_t case_number) const;

  boost::asio::io_context& io_;
  std::map<int64_t, Row> rows_;  // by id; a case's deliveries come in the order of their ids
  std::vector<Mark> marks_;
  std::vector<std::pair<Mark, Marked>> held_;
  std::string closed_;
  bool holding_ = false;
  int failing_ = 0;
  int loads_ = 0;
};

}  // namespace girdle::delivery
