// Where the receiver of a session after ASTM E1381 stands, and what it makes of the next frame.
// Pure.
//
// A session stands still until take(), which is for when the frame's text is durable: a copy that
// was taken forward can be dropped, and the sender's repeat then finds the session as it was.
// save() and load() carry it over a restart.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "base/digest.h"
#include "framing/astm_framer.h"

namespace girdle::framing {

class AstmSession {
 public:
  struct Verdict {
    enum class Kind {
      kTake,
      kRepeat,     // it was taken already: acknowledged again, and not stored
      kRefuse,     // it is no frame that may come here
      kIgnore,     // there is no session
      kBeginAnew,  // a session without ENQ begins; the one before it is over
    } kind = Kind::kTake;
    std::string reason;                 // of kRefuse and kIgnore: for a person
    config::AstmDeviations deviations;  // accepted, and counted with the frame
  };

  explicit AstmSession(const config::Framing& settings);

  bool is_open() const { return is_open_; }
  // Frames taken in this session.
  uint64_t frames() const { return frames_; }
  // ENQ came, and nothing of an older session is left.
  void open();
  // Ends it. The last frame is remembered: a late repeat of it is still told.
  void close();

  Verdict judge(const AstmFrame& frame) const;
  // The frame was read. `rest`: the text of a record that goes on in the next frame; `reader`: the
  // state that the reader goes on with.
  void take(const AstmFrame& frame, std::string rest, std::string reader);

  // What the reader is to be fed before the next frame's text.
  const std::string& rest() const { return rest_; }
  const std::string& reader() const { return reader_; }
  // Bytes of text that were taken in this session, rest() included.
  uint64_t offset() const { return offset_; }
  const base::Digest& last_frame() const { return last_; }
  // The last frame ended with ETB: what follows of its record has not come.
  bool is_cut_off() const { return is_cut_off_; }

  std::string save() const;
  // False, and nothing changed, when these are not bytes that save() gave.
  bool load(std::string_view saved);

 private:
  bool is_repeat(const AstmFrame& frame) const;
  Verdict judge_number(const AstmFrame& frame) const;
  bool accepts(config::AstmDeviation deviation) const {
    return accept_[static_cast<size_t>(deviation)];
  }

  config::AstmDeviations accept_;
  uint64_t max_bytes_;

  bool is_open_ = false;
  bool has_last_ = false;
  bool is_cut_off_ = false;
  int last_number_ = 0;
  base::Digest last_{};  // of the last frame's text
  uint64_t frames_ = 0;
  uint64_t offset_ = 0;
  std::string rest_;
  std::string reader_;
};

// The frame's text as a reader is to have it: with the CR that an accepted deviation left out.
std::string text_to_read(const AstmFrame& frame);

}  // namespace girdle::framing
