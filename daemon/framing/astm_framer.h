// Frames after ASTM E1381 (CLSI LIS01), cut out of the stream that a sender sends: STX, a number,
// text, ETX or ETB, a checksum of two hexadecimal digits, CR LF; and between them ENQ and EOT. The
// paid texts of the standards were not read; what open libraries say of them was.
//
// Pure: no I/O, no clock, no threads. However a stream is split into feeds, the same signs come
// out. Memory is bounded by the settings' max_bytes.
//
// A deviation that the settings accept is told with the frame that has it; one that they do not
// accept breaks the frame, and the reason names the switch that would take it.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "framing/framer.h"

namespace girdle::framing {

// Views are valid during the call only.
struct AstmFrame {
  std::string_view bytes;             // as they came, from STX to the checksum
  std::string_view text;              // between the number and ETX or ETB
  int number = 0;                     // 0 to 7
  bool is_last = true;                // it ended with ETX; after ETB more of the same follows
  config::AstmDeviations deviations;  // that it has, all of them accepted
  uint64_t stream_offset = 0;
};

// What a stream says, in its order.
class AstmSigns {
 public:
  virtual ~AstmSigns() = default;
  virtual void enquiry() = 0;                      // ENQ: a session may begin
  virtual void end() = 0;                          // EOT
  virtual void frame(const AstmFrame& frame) = 0;  // whole, and its checksum is right
  virtual void broken_frame(const Fault& fault) = 0;
  virtual void junk(const Fault& fault) = 0;  // bytes between frames
};

class AstmFramer {
 public:
  explicit AstmFramer(const config::Framing& settings);

  void feed(std::string_view bytes, AstmSigns& signs);
  // As Framer::feed_damaged.
  void feed_damaged(char byte, AstmSigns& signs);
  // Nothing has come for a while: a frame that may be complete as it stands is taken so. Only where
  // could_end(); without it such a frame is complete when the next byte comes.
  void quiet(AstmSigns& signs);
  // The line was lost, or its silence has ended a session: what was begun becomes a broken frame.
  void reset(std::string_view why, AstmSigns& signs);

  // Bytes of the frame that was begun and is not complete.
  uint64_t pending() const { return state_ == State::kBetween ? 0 : bytes_.size(); }
  // The frame at hand has all that it must have, and may yet get its checksum or its CR LF.
  bool could_end() const;

 private:
  enum class State { kBetween, kText, kCheck, kCarriageReturn, kLineFeed };

  void take(char byte, AstmSigns& signs);
  void between(char byte, AstmSigns& signs);
  void keep_junk(char byte, AstmSigns& signs);
  void tell_junk(AstmSigns& signs);
  void in_text(char byte, AstmSigns& signs);
  void in_check(char byte, AstmSigns& signs);
  void behind_check(char byte, AstmSigns& signs);
  void begin_frame();
  void keep(char byte);
  void break_off(std::string_view why, AstmSigns& signs);
  void complete(AstmSigns& signs);
  void enter_between();

  // Each gives what is wrong, or nothing.
  std::string judge(AstmFrame& frame) const;
  std::string judge_checksum(AstmFrame& frame) const;
  std::string judge_text(AstmFrame& frame) const;
  std::string allow(config::AstmDeviation deviation, std::string_view what, AstmFrame& frame) const;
  bool accepts(config::AstmDeviation deviation) const {
    return accept_[static_cast<size_t>(deviation)];
  }

  const config::AstmDeviations accept_;
  const uint64_t max_bytes_;  // of a frame's text

  State state_ = State::kBetween;
  std::string bytes_;          // as they came: junk, or a frame from STX on
  uint64_t bytes_offset_ = 0;  // of the first of them
  uint64_t offset_ = 0;        // of the next byte fed
  size_t end_at_ = 0;          // of ETX or ETB in bytes_
  bool damaged_ = false;
  bool is_too_long_ = false;  // the rest of the frame's text is not kept
  bool has_cr_lf_ = false;
  bool told_ = false;  // junk above the limit, told already
};

}  // namespace girdle::framing
