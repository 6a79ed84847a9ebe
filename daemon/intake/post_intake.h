// An intake whose documents are posted to the API: there is nothing to watch. What was taken in is told to it, so that it
// stands in lists like any other.
#pragma once

#include <string>

#include "intake/intake.h"

namespace girdle::intake {

class PostIntake final : public Intake {
 public:
  PostIntake(std::string name, boost::asio::any_io_executor executor);

  boost::asio::awaitable<void> run() override;
  boost::asio::awaitable<void> scan_once() override;
  std::string_view name() const override { return name_; }
  Status status() const override { return status_; }

  // A document that was posted is durable, or was known.
  void took(uint64_t bytes, bool known, uint64_t set_aside, base::Instant at);

 private:
  std::string name_;
  boost::asio::any_io_executor executor_;
  Status status_;
};

}  // namespace girdle::intake
