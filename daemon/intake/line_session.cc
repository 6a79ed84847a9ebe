#include "intake/line_session.h"

#include <algorithm>
#include <utility>

#include "base/digest.h"
#include "intake/begun.h"

namespace girdle::intake {

namespace asio = boost::asio;

using config::AstmDeviation;
using framing::AstmFrame;
using framing::AstmSession;

namespace {

constexpr char kAck = '\x06', kNak = '\x15';

constexpr size_t kMostSigns = 64;
constexpr uint64_t kMostSignBytes = 256 << 10;
constexpr int64_t kNanosInMilli = 1'000'000;

constexpr std::string_view kCountNames[] = {"frames",  "repeated", "refused",
                                            "ignored", "sessions", "timed_out"};

SteadyTime steady_now() { return std::chrono::steady_clock::now(); }

}  // namespace

LineSession::LineSession(std::string intake, std::string line, const config::Framing& settings,
                         Sink& sink, base::Clock& clock, Bell& bell, Status& status, Times times)
    : intake_(std::move(intake)),
      line_(std::move(line)),
      settings_(settings),
      times_(times),
      sink_(sink),
      clock_(clock),
      bell_(bell),
      status_(status),
      framer_(settings_),
      session_(settings_) {}

// What the line says.

void LineSession::feed(std::string_view bytes) {
  last_byte_ = steady_now();
  later_.clear();
  framer_.feed(bytes, *this);
  wait_for_more();
}

void LineSession::feed_damaged(char byte) {
  last_byte_ = steady_now();
  later_.clear();
  framer_.feed_damaged(byte, *this);
  wait_for_more();
}

void LineSession::opened() {
  is_line_fresh_ = true;
  ++opening_;
  answer_.clear();
  later_.clear();
}

void LineSession::lost() {
  framer_.reset("the line was lost before the end of this frame", *this);
  answer_.clear();
  later_.clear();
}

void LineSession::frame(const AstmFrame& frame) {
  Sign& sign = add_sign(Sign::Kind::kFrame, frame.bytes);
  sign.text_size = frame.text.size();
  sign.number = frame.number;
  sign.is_last = frame.is_last;
  sign.deviations = frame.deviations;
}

void LineSession::broken_frame(const framing::Fault& fault) {
  Sign& sign = add_sign(Sign::Kind::kBrokenFrame, fault.bytes);
  sign.reason = fault.reason;
  sign.truncated = fault.truncated;
}

void LineSession::junk(const framing::Fault& fault) {
  Sign& sign = add_sign(Sign::Kind::kJunk, fault.bytes);
  sign.reason = fault.reason;
  sign.truncated = fault.truncated;
}

LineSession::Sign& LineSession::add_sign(Sign::Kind kind, std::string_view bytes) {
  Sign& sign = signs_.emplace_back();
  sign.kind = kind;
  sign.bytes = bytes;
  sign.came_at = clock_.now();
  sign.came = steady_now();
  sign.opening = opening_;
  sign_bytes_ += bytes.size();
  return sign;
}

void LineSession::put_back(Sign sign) {
  sign_bytes_ += sign.bytes.size();
  signs_.push_front(std::move(sign));
}

AstmFrame LineSession::frame_of(const Sign& sign) {
  const std::string_view bytes = sign.bytes;
  return {bytes, bytes.substr(2, sign.text_size), sign.number, sign.is_last, sign.deviations, 0};
}

bool LineSession::is_full() const {
  return signs_.size() >= kMostSigns || sign_bytes_ >= kMostSignBytes;
}

// What follows from it.

asio::awaitable<void> LineSession::hand_over() {
  restore();
  mind_the_time();
  while (!is_offered_) {
    if (!offers_.empty() && is_given_up(offers_.front())) {
      offers_.pop_front();
      retry_at_ = {};
    } else if (!offers_.empty()) {
      if (steady_now() < retry_at_) co_return;
      co_await hand_first();
    } else if (!signs_.empty()) {
      Sign sign = std::move(signs_.front());
      signs_.pop_front();
      sign_bytes_ -= sign.bytes.size();
      act(std::move(sign));
    } else {
      co_return;
    }
  }
}

// A session that stood open when the program ended goes on, unless its time has passed.
void LineSession::restore() {
  if (std::exchange(is_restored_, true)) return;
  const auto position = sink_.position(line_);
  if (!position || !session_.load(position->resume) || !session_.is_open()) return;
  const auto since = clock_.now() - base::from_millis(position->mtime_ns / kNanosInMilli);
  if (since > settings_.timeout || since < base::Millis(0)) {
    count(Count::kTimedOut);
    close(false);
  } else {
    wait_for_more();
  }
}

void LineSession::mind_the_time() {
  const SteadyTime now = steady_now();
  if (framer_.could_end() && now >= last_byte_ + times_.quiet) framer_.quiet(*this);
  if (!later_.empty() && now >= later_at_) answer_ = std::exchange(later_, {});
  if (!session_.is_open() || !is_idle() || now < over_at_) return;
  count(Count::kTimedOut);
  framer_.reset("nothing more of this frame came in time", *this);
  close(false);
}

SteadyTime LineSession::next_due() const {
  SteadyTime due = SteadyTime::max();
  if (framer_.could_end()) due = std::min(due, last_byte_ + times_.quiet);
  if (!later_.empty()) due = std::min(due, later_at_);
  if (session_.is_open() && is_idle()) due = std::min(due, over_at_);
  if (!offers_.empty() && !is_offered_) due = std::min(due, retry_at_);
  return due;
}

void LineSession::wait_for_more() { over_at_ = steady_now() + settings_.timeout; }

void LineSession::act(Sign sign) {
  answer_.clear();
  switch (sign.kind) {
    case Sign::Kind::kEnquiry:
      return on_enquiry(std::move(sign));
    case Sign::Kind::kEnd:
      return close(true);
    case Sign::Kind::kFrame:
      return on_frame(std::move(sign));
    case Sign::Kind::kBrokenFrame:
      if (session_.is_open() || accepts(AstmDeviation::kNoEnq)) return refuse(std::move(sign));
      return ignore(std::move(sign));
    case Sign::Kind::kJunk:
      return offer_aside(std::move(sign));
  }
}

void LineSession::on_enquiry(Sign sign) {
  if (session_.is_open() && session_.frames() > 0) {
    if (!is_line_fresh_ && !accepts(AstmDeviation::kNoEot)) {
      count(Count::kRefused);
      return say(kNak, sign);
    }
    if (!is_line_fresh_) count(AstmDeviation::kNoEot);
    close(!is_line_fresh_);
    return put_back(std::move(sign));  // once what is left of the session before is durable
  }
  const bool is_repeat = session_.is_open();
  close(false);
  session_.open();
  wait_for_more();
  if (is_repeat) return say_again(kAck, sign);
  count(Count::kSessions);
  say(kAck, sign);
}

void LineSession::on_frame(Sign sign) {
  AstmSession::Verdict verdict = session_.judge(frame_of(sign));
  sign.deviations = verdict.deviations;
  sign.reason = std::move(verdict.reason);
  switch (verdict.kind) {
    case AstmSession::Verdict::Kind::kTake:
      offers_.push_back({Offer::Kind::kFrame, std::move(sign), session_});
      return;
    case AstmSession::Verdict::Kind::kRepeat:
      count(Count::kRepeated);
      return say_again(kAck, sign);
    case AstmSession::Verdict::Kind::kRefuse:
      return refuse(std::move(sign));
    case AstmSession::Verdict::Kind::kIgnore:
      return ignore(std::move(sign));
    case AstmSession::Verdict::Kind::kBeginAnew:
      count(AstmDeviation::kNoEot);
      close(true);
      return put_back(std::move(sign));
  }
}

void LineSession::refuse(Sign sign) {
  count(Count::kRefused);
  say(kNak, sign);
  // A frame whose checksum is right is no bad copy of the next one.
  const bool is_another = refused_ && refused_->kind == Sign::Kind::kFrame;
  if (is_another && refused_->bytes != sign.bytes) offer_aside(std::move(*refused_));
  refused_ = std::move(sign);
}

void LineSession::ignore(Sign sign) {
  count(Count::kIgnored);
  if (sign.bytes == ignored_) return;
  ignored_ = sign.bytes;
  offer_aside(std::move(sign));
}

void LineSession::close(bool in_order) {
  if (refused_) {
    offer_aside(std::move(*refused_));
    refused_.reset();
  }
  if (session_.frames() > 0) {
    std::string rest = session_.rest();
    if (!rest.empty() && (!in_order || session_.is_cut_off())) {
      Sign cut_off;
      cut_off.bytes = std::exchange(rest, {});
      cut_off.reason =
          "the session ended before the end of this record; the sender must send it again";
      cut_off.came_at = clock_.now();
      offer_aside(std::move(cut_off));
    }
    offers_.push_back({Offer::Kind::kEnd, {}, session_, std::move(rest)});
  }
  session_.close();
}

// What becomes of it.

void LineSession::offer_aside(Sign sign) {
  offers_.push_back({Offer::Kind::kAside, std::move(sign), session_});
}

// A frame whose commit failed is offered again as long as its sender waits for the answer.
bool LineSession::is_given_up(const Offer& offer) const {
  const bool has_failed = retry_at_ != SteadyTime();
  return offer.kind == Offer::Kind::kFrame && has_failed && (is_late(offer.sign) || is_followed());
}

asio::awaitable<void> LineSession::hand_first() {
  is_offered_ = true;
  Offer& offer = offers_.front();
  if (offer.kind == Offer::Kind::kAside) {
    co_await hand_aside(offer);
  } else {
    co_await hand_text(offer);
  }
}

asio::awaitable<void> LineSession::hand_aside(Offer& offer) {
  ++status_.set_aside;
  const Sign& sign = offer.sign;
  const model::Document document = document_of(sign.bytes, sign.came_at, 0);
  model::Aside aside{{0, sign.bytes.size(), 0}, sign.reason, sign.bytes, sign.truncated};
  const auto done = [this](bool committed) { on_done(committed); };
  co_await sink_.set_aside(document, std::move(aside), std::nullopt, done);
}

asio::awaitable<void> LineSession::hand_text(Offer& offer) {
  const bool is_frame = offer.kind == Offer::Kind::kFrame;
  const AstmSession& before = offer.before;
  const std::string text =
      is_frame ? before.rest() + framing::text_to_read(frame_of(offer.sign)) : offer.rest;
  const auto done = [this](bool committed) { on_done(committed); };
  if (!is_frame && text.empty() && before.reader().empty()) {
    offer.after.emplace(before).close();
    model::FilePosition closed = position_of(*offer.after);
    co_await sink_.move_position(std::move(closed), done);
    co_return;
  }
  const base::Instant came_at = is_frame ? offer.sign.came_at : clock_.now();
  ++status_.documents;
  status_.bytes += text.size();
  status_.last_at = clock_.now();
  Begun begun(sink_, status_);
  const model::Document document =
      document_of(text, came_at, before.offset() - before.rest().size());
  sink_.begin(document, before.reader());
  if (!text.empty()) co_await sink_.feed(text);
  Sink::Read read = co_await sink_.finish(!is_frame);
  AstmSession& after = offer.after.emplace(before);
  if (is_frame) {
    after.take(frame_of(offer.sign), text.substr(read.consumed), std::move(read.resume));
  } else {
    after.close();
  }
  model::FilePosition moved = position_of(after);
  co_await sink_.commit(std::move(moved), done);
  begun.committed();
}

model::Document LineSession::document_of(std::string_view bytes, base::Instant came_at,
                                         uint64_t offset) const {
  model::Document document;
  document.digest = base::sha256(bytes);
  document.intake = intake_;
  document.name = line_;
  document.offset = offset;
  document.size = bytes.size();
  document.came_at = came_at;
  return document;
}

model::FilePosition LineSession::position_of(const AstmSession& session) const {
  model::FilePosition position;
  position.intake = intake_;
  position.name = line_;
  position.mtime_ns = base::to_millis(clock_.now()) * kNanosInMilli;
  position.offset = session.offset();
  position.prefix = session.last_frame();
  position.resume = session.save();
  return position;
}

void LineSession::on_done(bool committed) {
  is_offered_ = false;
  if (committed) {
    Offer offer = std::move(offers_.front());
    offers_.pop_front();
    retry_at_ = {};
    if (offer.kind == Offer::Kind::kFrame) on_taken(std::move(offer));
  } else {
    ++status_.failed;
    retry_at_ = steady_now() + times_.retry;
  }
  bell_.ring();
}

void LineSession::on_taken(Offer offer) {
  if (!session_.is_open()) count(Count::kSessions);
  session_ = std::move(*offer.after);
  is_line_fresh_ = false;
  ignored_.clear();
  count(Count::kFrames);
  for (size_t i = 0; i < deviations_.size(); ++i) deviations_[i] += offer.sign.deviations[i];
  const bool was_bad_copy = refused_ && refused_->kind == Sign::Kind::kBrokenFrame;
  if (was_bad_copy || (refused_ && refused_->bytes == offer.sign.bytes)) refused_.reset();
  wait_for_more();
  say(kAck, offer.sign);
}

void LineSession::say(char answer, const Sign& to) {
  if (to.opening != opening_ || is_late(to) || is_followed()) return;
  answer_ = answer;
  wait_for_more();
}

void LineSession::say_again(char answer, const Sign& to) {
  say(answer, to);
  later_ = std::exchange(answer_, {});
  later_at_ = steady_now() + times_.crossing;
}

bool LineSession::is_late(const Sign& sign) const {
  return steady_now() - sign.came > times_.answer_within;
}

void LineSession::report(Status& status) const {
  if (status.trouble.empty()) status.trouble = sink_.trouble();
  for (size_t i = 0; i < counts_.size(); ++i)
    status.counts.emplace_back(kCountNames[i], counts_[i]);
  for (size_t i = 0; i < deviations_.size(); ++i) {
    status.counts.emplace_back(config::kAstmDeviationNames[i], deviations_[i]);
  }
}

}  // namespace girdle::intake
