// The frames of one line on their way to the sink. A line cannot be asked again, so every frame is
// kept until its commit is durable, and offered again when that failed. A full desk stops the
// reading of the line, and so, with flow control or a full kernel buffer, the sender.
//
// Repeats of a frame are no concern here: casework tells them.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <list>
#include <memory>
#include <string>

#include "base/clock.h"
#include "framing/framer.h"
#include "intake/line_desk.h"
#include "intake/sink.h"

namespace girdle::intake {

class LineFrames final : public LineDesk, private framing::FrameSink {
 public:
  // `line`: the device or the peer, the documents' name.
  LineFrames(std::string intake, std::string line, std::unique_ptr<framing::Framer> framer,
             Sink& sink, base::Clock& clock, Bell& bell, Status& status);

  void feed(std::string_view bytes) override { framer_->feed(bytes, *this); }
  void feed_damaged(char byte) override { framer_->feed_damaged(byte, *this); }
  void lost() override { framer_->reset(*this); }

  boost::asio::awaitable<void> hand_over() override;
  SteadyTime next_due() const override;
  bool is_full() const override;
  size_t in_flight() const override { return in_flight_.size(); }
  void report(Status& status) const override {
    if (status.trouble.empty()) status.trouble = sink_.trouble();
  }
  uint64_t unfinished() const override { return framer_->pending(); }
  size_t waiting() const override { return fresh_.size() + failed_.size(); }

 private:
  struct Held {
    model::Document document;
    std::string bytes;
    std::string reason;  // of a fault; empty for a frame
    bool truncated = false;
    std::list<Held>::iterator self;
  };

  void frame(const framing::Frame& frame) override;
  void fault(const framing::Fault& fault) override;
  Held& hold(std::string_view bytes);
  boost::asio::awaitable<void> offer(Held& held);
  void on_done(Held& held, bool committed);

  const std::string intake_;
  const std::string line_;
  const std::unique_ptr<framing::Framer> framer_;
  Sink& sink_;
  base::Clock& clock_;
  Bell& bell_;
  Status& status_;
  std::list<Held> fresh_;
  std::list<Held> in_flight_;
  std::list<Held> failed_;
  uint64_t held_bytes_ = 0;
  SteadyTime retry_at_{};
};

}  // namespace girdle::intake
