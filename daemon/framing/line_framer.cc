#include "framing/line_framer.h"

namespace girdle::framing {

void LineFramer::feed(std::string_view bytes, FrameSink& sink) {
  while (!bytes.empty()) {
    if (after_cr_ && bytes.front() == '\n') {
      bytes.remove_prefix(1);
      ++offset_;
      ++line_offset_;
    }
    after_cr_ = false;
    const size_t end = bytes.find_first_of("\r\n");
    if (end == std::string_view::npos) {
      append(bytes, sink);
      return;
    }
    const bool is_cr = bytes[end] == '\r';
    end_line(bytes.substr(0, end), sink);
    ++offset_;
    bytes.remove_prefix(end + 1);
    begin_line();
    after_cr_ = is_cr;
  }
}

void LineFramer::feed_damaged(char byte, FrameSink& sink) {
  if (byte == '\0' && line_.empty() && !skipping_) {
    ++offset_;
    ++line_offset_;
    return;
  }
  after_cr_ = false;
  damaged_ = true;
  append(std::string_view(&byte, 1), sink);
}

void LineFramer::reset(FrameSink& sink) {
  if (!line_.empty()) {
    sink.fault({"the line was lost before the end of this frame", line_, line_offset_, false});
  }
  begin_line();
  after_cr_ = false;
}

void LineFramer::append(std::string_view bytes, FrameSink& sink) {
  offset_ += bytes.size();
  if (skipping_) return;
  const size_t room = max_bytes_ - line_.size();
  line_.append(bytes.substr(0, room));
  if (bytes.size() <= room) return;
  skipping_ = true;
  sink.fault({"no line end within " + std::to_string(max_bytes_) +
                  " bytes; the frame's limit is max_bytes",
              line_, line_offset_, true});
  line_.clear();
}

void LineFramer::end_line(std::string_view rest, FrameSink& sink) {
  std::string_view whole = rest;
  if (!line_.empty() || skipping_ || rest.size() > max_bytes_) {
    append(rest, sink);
    whole = line_;
  } else {
    offset_ += rest.size();
  }
  if (skipping_ || whole.empty()) return;
  if (damaged_) {
    sink.fault(
        {"a byte of this frame came with a parity or framing error", whole, line_offset_, false});
  } else {
    sink.frame({whole, line_offset_});
  }
}

void LineFramer::begin_line() {
  line_.clear();
  line_offset_ = offset_;
  skipping_ = false;
  damaged_ = false;
}

}  // namespace girdle::framing
