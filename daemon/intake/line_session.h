// A conversation with a sender of frames after ASTM E1381: each frame's text goes to the sink, and
// the frame is acknowledged once the commit that holds it is durable, and not before.
//
// A session's text is one document that grows by a frame at a time, and where the session stands is
// a position that moves with the same commit: the reader's state, the text of a record that goes on
// in the next frame, and the last frame, by which its repeat is told. So a restart goes on in the
// middle of a session, and what was acknowledged is never in memory alone.
//
// One frame at a time is with the sink. An answer goes out only while it is the sender's turn to
// listen: not when something followed what it answers, nor so late that the sender has given up. It
// would be taken for the answer to something that is not durable yet. For the same reason what came
// twice is answered only after a short silence: where its first answer and the repeat crossed each
// other, the next frame follows at once.
#pragma once

#include <array>
#include <chrono>
#include <deque>
#include <optional>
#include <string>

#include "base/clock.h"
#include "framing/astm_framer.h"
#include "framing/astm_session.h"
#include "intake/line_desk.h"
#include "intake/sink.h"

namespace girdle::intake {

class LineSession final : public LineDesk, private framing::AstmSigns {
 public:
  struct Times {
    // A sender waits 15 s for an answer; a later one would answer something else.
    std::chrono::milliseconds answer_within{12000};
    // Longer than any gap that a converter makes in a frame.
    std::chrono::milliseconds quiet{500};
    std::chrono::milliseconds retry{1000};  // of a commit that failed
    // From the repeat of what was answered to its answer.
    std::chrono::milliseconds crossing{300};
  };

  // `line`: the device or the peer, the documents' name.
  LineSession(std::string intake, std::string line, const config::Framing& settings, Sink& sink,
              base::Clock& clock, Bell& bell, Status& status, Times times);

  void feed(std::string_view bytes) override;
  void feed_damaged(char byte) override;
  void opened() override;
  void lost() override;

  boost::asio::awaitable<void> hand_over() override;
  SteadyTime next_due() const override;
  bool is_full() const override;
  size_t in_flight() const override { return is_offered_ ? 1 : 0; }
  // What was not acknowledged is the sender's to send again.
  uint64_t unfinished() const override { return 0; }
  size_t waiting() const override { return 0; }

  std::string_view answer() const override { return answer_; }
  void answered() override { answer_.clear(); }
  void report(Status& status) const override;

 private:
  // What the line said.
  struct Sign {
    enum class Kind { kEnquiry, kEnd, kFrame, kBrokenFrame, kJunk } kind = Kind::kJunk;
    std::string bytes;
    // kFrame.
    size_t text_size = 0;
    int number = 0;
    bool is_last = true;
    config::AstmDeviations deviations;
    // kBrokenFrame, kJunk; and of a frame once it is refused.
    std::string reason;
    bool truncated = false;

    base::Instant came_at{};
    SteadyTime came{};
    uint64_t opening = 0;  // which opening of the line it came through
  };

  // What the sink is to make durable.
  struct Offer {
    enum class Kind { kFrame, kEnd, kAside } kind;
    Sign sign;                    // kFrame, kAside
    framing::AstmSession before;  // kFrame, kEnd
    std::string rest = {};        // kEnd: the text behind the last complete record
    std::optional<framing::AstmSession> after = {};  // once it is with the sink
  };

  enum class Count { kFrames, kRepeated, kRefused, kIgnored, kSessions, kTimedOut, kAll };

  void enquiry() override { add_sign(Sign::Kind::kEnquiry, {}); }
  void end() override { add_sign(Sign::Kind::kEnd, {}); }
  void frame(const framing::AstmFrame& frame) override;
  void broken_frame(const framing::Fault& fault) override;
  void junk(const framing::Fault& fault) override;
  Sign& add_sign(Sign::Kind kind, std::string_view bytes);
  void put_back(Sign sign);
  static framing::AstmFrame frame_of(const Sign& sign);

  void restore();
  void mind_the_time();
  void act(Sign sign);
  void on_enquiry(Sign sign);
  void on_frame(Sign sign);
  void refuse(Sign sign);
  void ignore(Sign sign);
  // Ends the session. `in_order`: by the sender's word; not by silence, and not with the line.
  void close(bool in_order);
  bool is_idle() const { return !is_offered_ && offers_.empty() && signs_.empty(); }

  void offer_aside(Sign sign);
  bool is_given_up(const Offer& offer) const;
  boost::asio::awaitable<void> hand_first();
  boost::asio::awaitable<void> hand_text(Offer& offer);
  boost::asio::awaitable<void> hand_aside(Offer& offer);
  void on_done(bool committed);
  void on_taken(Offer offer);
  model::Document document_of(std::string_view bytes, base::Instant came_at, uint64_t offset) const;
  model::FilePosition position_of(const framing::AstmSession& session) const;

  void say(char answer, const Sign& to);
  void say_again(char answer, const Sign& to);
  bool is_late(const Sign& sign) const;
  bool is_followed() const { return !signs_.empty() || framer_.pending() > 0; }
  void wait_for_more();
  void count(Count what) { ++counts_[static_cast<size_t>(what)]; }
  void count(config::AstmDeviation deviation) { ++deviations_[static_cast<size_t>(deviation)]; }
  bool accepts(config::AstmDeviation deviation) const {
    return settings_.accept[static_cast<size_t>(deviation)];
  }

  const std::string intake_;
  const std::string line_;
  const config::Framing settings_;
  const Times times_;
  Sink& sink_;
  base::Clock& clock_;
  Bell& bell_;
  Status& status_;

  framing::AstmFramer framer_;
  framing::AstmSession session_;
  bool is_restored_ = false;
  // Nothing was taken since the line was opened: a sender that lost it too may begin again with
  // ENQ.
  bool is_line_fresh_ = true;
  uint64_t opening_ = 0;

  std::deque<Sign> signs_;
  uint64_t sign_bytes_ = 0;
  std::deque<Offer> offers_;
  bool is_offered_ = false;  // the first of them is with the sink
  SteadyTime retry_at_{};    // of the first, when its commit failed
  // The last frame that was refused: set aside at the end of the session unless its repeat was
  // right.
  std::optional<Sign> refused_;
  std::string ignored_;  // the last frame outside of a session: its repeats are not told again

  std::string answer_;
  std::string later_;  // an answer that waits for a silence
  SteadyTime later_at_{};
  SteadyTime last_byte_{};
  SteadyTime over_at_{};  // of an open session: when silence ends it

  std::array<uint64_t, static_cast<size_t>(Count::kAll)> counts_{};
  std::array<uint64_t, std::size(config::kAstmDeviationNames)> deviations_{};
};

}  // namespace girdle::intake
