#include "framing/block_framer.h"

#include <algorithm>
#include <utility>

namespace girdle::framing {
namespace {

bool is_white(std::string_view bytes) {
  return bytes.find_first_not_of(" \t\r\n\v\f") == std::string_view::npos;
}

}  // namespace

BlockFramer::Mark::Mark(std::string_view text)
    : length(text.size()), value(0), mask(length == 8 ? ~0ull : (1ull << 8 * length) - 1) {
  for (const unsigned char byte : text) value = value << 8 | byte;
}

BlockFramer::BlockFramer(const config::Framing& settings, std::optional<BlockCheck> check)
    : settings_(settings),
      check_(std::move(check)),
      start_(settings_.start),
      end_(settings_.end),
      limit_(settings_.max_bytes + start_.length + end_.length) {}

void BlockFramer::feed(std::string_view bytes, FrameSink& sink) {
  for (const char byte : bytes) {
    recent_ = recent_ << 8 | static_cast<unsigned char>(byte);
    ++run_;
    take(byte, sink);
  }
}

void BlockFramer::feed_damaged(char byte, FrameSink& sink) {
  run_ = 0;
  if (byte == '\0' && state_ == State::kBetween && bytes_.empty()) {
    bytes_offset_ = ++offset_;
    return;
  }
  damaged_ = true;
  take(byte, sink);
}

void BlockFramer::reset(FrameSink& sink) {
  if (state_ == State::kBetween) {
    tell_junk(bytes_, sink);
  } else if (!bytes_.empty()) {
    sink.fault({"the line was lost before the end of this frame", bytes_, bytes_offset_, false});
  }
  enter(State::kBetween);
}

void BlockFramer::take(char byte, FrameSink& sink) {
  ++offset_;
  switch (state_) {
    case State::kBetween:
      keep(byte, sink);
      if (ends_with(start_)) on_start(sink);
      break;
    case State::kText:
      bytes_ += byte;
      if (ends_with(end_)) return on_end(sink);
      if (ends_with(start_)) return on_start(sink);
      if (bytes_.size() < limit_) break;
      sink.fault({"no end within " + std::to_string(settings_.max_bytes) +
                      " bytes; the frame's limit is max_bytes",
                  bytes_, bytes_offset_, true});
      enter(State::kSkipping);
      break;
    case State::kCheck:
      bytes_ += byte;
      if (--check_left_ == 0) finish_frame(sink);
      break;
    case State::kSkipping:
      if (ends_with(end_)) return on_end(sink);
      if (ends_with(start_)) on_start(sink);
      break;
    case State::kSkippingCheck:
      if (--check_left_ == 0) enter(State::kBetween);
      break;
  }
}

void BlockFramer::keep(char byte, FrameSink& sink) {
  if (told_) return;
  bytes_ += byte;
  if (bytes_.size() < limit_) return;
  told_ = !is_white(bytes_);
  if (told_) {
    sink.fault({"bytes between frames", bytes_, bytes_offset_, true});
  }
  bytes_.clear();
  bytes_offset_ = offset_;
}

void BlockFramer::on_start(FrameSink& sink) {
  const std::string_view before(bytes_.data(),
                                bytes_.size() - std::min(bytes_.size(), start_.length));
  if (state_ == State::kBetween) {
    tell_junk(before, sink);
  } else if (state_ == State::kText) {
    sink.fault({"a new frame began before the end of this one", before, bytes_offset_, false});
  }
  enter(State::kText);
  bytes_ = settings_.start;
  bytes_offset_ = offset_ - start_.length;
}

void BlockFramer::on_end(FrameSink& sink) {
  check_left_ = check_ ? check_->length() : 0;
  if (state_ == State::kSkipping) {
    enter(check_left_ > 0 ? State::kSkippingCheck : State::kBetween);
  } else if (check_left_ > 0) {
    state_ = State::kCheck;
  } else {
    finish_frame(sink);
  }
}

void BlockFramer::finish_frame(FrameSink& sink) {
  const std::string_view all = bytes_;
  const std::string wrong = what_is_wrong(all);
  if (wrong.empty()) {
    const size_t behind = end_.length + (check_ ? check_->length() : 0);
    sink.frame({all.substr(start_.length, all.size() - behind - start_.length), bytes_offset_});
  } else {
    sink.fault({wrong, all, bytes_offset_, false});
  }
  enter(State::kBetween);
}

std::string BlockFramer::what_is_wrong(std::string_view frame) const {
  if (damaged_) return "a byte of this frame came with a parity or framing error";
  if (!check_) return {};
  const size_t check_at = frame.size() - check_->length();
  const size_t from = settings_.check_with_start ? 0 : start_.length;
  const size_t to = settings_.check_with_end ? check_at : check_at - end_.length;
  const uint64_t computed = check_->of(frame.substr(from, to - from));
  const auto written = check_->read(frame.substr(check_at));
  if (written == computed) return {};
  return "the block check " + check_->name() + " of this frame is " + check_->text(computed) +
         (written ? ", the line says " + check_->text(*written)
                  : ", and what stands behind its end are no hexadecimal digits");
}

void BlockFramer::tell_junk(std::string_view junk, FrameSink& sink) {
  if (!told_ && !is_white(junk)) sink.fault({"bytes between frames", junk, bytes_offset_, false});
}

void BlockFramer::enter(State state) {
  state_ = state;
  bytes_.clear();
  bytes_offset_ = offset_;
  run_ = 0;
  damaged_ = false;
  told_ = false;
}

}  // namespace girdle::framing
