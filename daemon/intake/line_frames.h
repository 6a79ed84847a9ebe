// The frames of one line on their way to the sink. A line cannot be asked again, so every frame is
// kept until its commit is durable, and offered again when that failed. Bounded: a full desk stops
// the reading of the line, and so, with flow control or a full kernel buffer, the sender.
//
// On the intake's thread. Repeats of a frame are no concern here: casework tells them.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <list>
#include <string>

#include "base/clock.h"
#include "framing/framer.h"
#include "intake/bell.h"
#include "intake/intake.h"
#include "intake/names_in_hand.h"
#include "intake/sink.h"

namespace girdle::intake {

class LineFrames final : public framing::FrameSink {
 public:
  // `line`: the device or the peer, the documents' name.
  LineFrames(std::string intake, std::string line, Sink& sink, base::Clock& clock, Bell& bell,
             Status& status);

  void frame(const framing::Frame& frame) override;
  void fault(const framing::Fault& fault) override;

  // Hands over what came since the last time, and what failed and is due again.
  boost::asio::awaitable<void> hand_over();
  // When something that failed is due; time_point::max() when nothing is.
  SteadyTime next_due() const;
  bool is_full() const;
  size_t waiting() const { return fresh_.size() + failed_.size(); }
  size_t in_flight() const { return in_flight_.size(); }

 private:
  struct Held {
    model::Document document;
    std::string bytes;
    std::string reason;  // of a fault; empty for a frame
    bool truncated = false;
    std::list<Held>::iterator self;
  };

  Held& hold(std::string_view bytes);
  boost::asio::awaitable<void> offer(Held& held);
  void on_done(Held& held, bool committed);

  const std::string intake_;
  const std::string line_;
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
