// Frames between a start and an end, with a block check behind the end where the settings name one.
//
// Exactly the check's bytes are taken after the end and never searched: a check may equal ETX, CR,
// LF or any other byte. A start within a frame means that the end of the frame before was lost:
// that one becomes a fault. What stands between frames is a fault when it is more than white space.
// A frame above the limit is one fault with its first bytes; the next end or start begins afresh.
#pragma once

#include <optional>

#include "framing/block_check.h"
#include "framing/framer.h"

namespace girdle::framing {

class BlockFramer final : public Framer {
 public:
  // `start` and `end`: 1 to 8 bytes. When they are the same bytes, the second time is the end.
  BlockFramer(const config::Framing& settings, std::optional<BlockCheck> check);

  void feed(std::string_view bytes, FrameSink& sink) override;
  void feed_damaged(char byte, FrameSink& sink) override;
  void reset(FrameSink& sink) override;
  uint64_t pending() const override { return state_ == State::kBetween ? 0 : bytes_.size(); }

 private:
  enum class State { kBetween, kText, kCheck, kSkipping, kSkippingCheck };
  // A mark of up to 8 bytes, compared with the last bytes as one number.
  struct Mark {
    explicit Mark(std::string_view text);
    size_t length;
    uint64_t value;
    uint64_t mask;
  };

  void take(char byte, FrameSink& sink);
  void keep(char byte, FrameSink& sink);
  bool ends_with(const Mark& mark) const {
    return run_ >= mark.length && (recent_ & mark.mask) == mark.value;
  }
  void on_start(FrameSink& sink);
  void on_end(FrameSink& sink);
  void finish_frame(FrameSink& sink);
  std::string what_is_wrong(std::string_view frame) const;
  void tell_junk(std::string_view junk, FrameSink& sink);
  void enter(State state);

  const config::Framing settings_;
  const std::optional<BlockCheck> check_;
  const Mark start_;
  const Mark end_;
  const uint64_t limit_;  // of bytes_: the longest frame with its marks and check

  State state_ = State::kBetween;
  std::string bytes_;          // as they came: junk, or a frame from its start on
  uint64_t bytes_offset_ = 0;  // of the first of them
  uint64_t offset_ = 0;        // of the next byte fed
  uint64_t recent_ = 0;        // the last 8 bytes
  uint64_t run_ = 0;           // how many bytes of recent_ may belong to a mark
  size_t check_left_ = 0;      // bytes of the check still to come
  bool damaged_ = false;
  bool told_ = false;  // junk above the limit, told already
};

}  // namespace girdle::framing
