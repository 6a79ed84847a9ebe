// The outlet for systems that import files: each attempt is one file, put whole into a folder
// (file_drop.h).
//
// File systems hang: a dead network share blocks whoever touches it. So each file has a thread of
// its own, which is left behind when it does not come back; while it hangs no second one is
// started. Neither the delivery thread nor another outlet nor the stop waits for it.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <chrono>
#include <memory>
#include <string>

#include "base/clock.h"
#include "delivery/body.h"
#include "delivery/drop_files.h"
#include "delivery/file_names.h"
#include "delivery/sender.h"

namespace girdle::delivery {

// One for an outlet. Must be destroyed before the executor's context.
class FolderSender final : public Sender {
 public:
  struct Options {
    std::chrono::milliseconds timeout{30'000};  // for one file
    const base::Clock* clock = nullptr;         // outlives it; null: the system's
  };
  // `owner`: see FileDrop.
  FolderSender(boost::asio::any_io_executor executor, std::string folder, std::string owner,
               FileNames names, std::unique_ptr<Body> body);
  FolderSender(boost::asio::any_io_executor executor, std::string folder, std::string owner,
               FileNames names, std::unique_ptr<Body> body, Options options,
               std::shared_ptr<DropFiles> files);
  ~FolderSender() override;

  // The attempt's reference is the name of the file.
  boost::asio::awaitable<Attempt> send(std::span<const model::Delivery> deliveries) override;

 private:
  struct State;
  struct Message;
  Message write(std::span<const model::Delivery> deliveries, Attempt& attempt);
  base::Instant next_written();

  std::string folder_;
  FileNames names_;
  std::unique_ptr<Body> body_;
  Options options_;
  base::Instant written_{};  // of the last file
  std::shared_ptr<State> state_;
};

}  // namespace girdle::delivery
