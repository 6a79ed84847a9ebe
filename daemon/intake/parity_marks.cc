#include "intake/parity_marks.h"

namespace girdle::intake {

void ParityMarks::feed(std::string_view raw, framing::Framer& framer, framing::FrameSink& sink) {
  static constexpr std::string_view kFf = "\xFF";
  while (!raw.empty()) {
    const char byte = raw.front();
    switch (state_) {
      case State::kPlain: {
        const size_t run = std::min(raw.find('\xFF'), raw.size());
        framer.feed(raw.substr(0, run), sink);
        raw.remove_prefix(run);
        if (raw.empty()) return;
        state_ = State::kAfterFf;
        break;
      }
      case State::kAfterFf:
        state_ = byte == '\0' ? State::kAfterFf00 : State::kPlain;
        if (byte == '\xFF') framer.feed(kFf, sink);
        if (byte == '\0' || byte == '\xFF') break;
        framer.feed(kFf, sink);  // no mark: a driver that does not double FF
        continue;
      case State::kAfterFf00:
        framer.feed_damaged(byte, sink);
        state_ = State::kPlain;
        break;
    }
    raw.remove_prefix(1);
  }
}

}  // namespace girdle::intake
