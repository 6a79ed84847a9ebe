// Frames that are lines: ended by CR, LF or CRLF (also when the pair is split over two feeds).
// Empty lines are no frames. A line above the limit is one fault with its first bytes; the next
// line end starts afresh.
#pragma once

#include "framing/framer.h"

namespace girdle::framing {

class LineFramer final : public Framer {
 public:
  // `max_bytes` above 0: of a line without its end.
  explicit LineFramer(uint64_t max_bytes) : max_bytes_(max_bytes) {}

  void feed(std::string_view bytes, FrameSink& sink) override;
  void feed_damaged(char byte, FrameSink& sink) override;
  void reset(FrameSink& sink) override;
  uint64_t pending() const override { return line_.size(); }

 private:
  void append(std::string_view bytes, FrameSink& sink);
  void end_line(std::string_view rest, FrameSink& sink);
  void begin_line();

  const uint64_t max_bytes_;
  std::string line_;          // of the line that is not complete
  uint64_t offset_ = 0;       // of the next byte fed
  uint64_t line_offset_ = 0;  // of the line's first byte
  bool after_cr_ = false;     // an LF now belongs to the line end before
  bool skipping_ = false;     // the line was too long and is told
  bool damaged_ = false;
};

}  // namespace girdle::framing
