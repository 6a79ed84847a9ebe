#include "intake/parity_marks.h"

namespace girdle::intake {

void ParityMarks::feed(std::string_view raw, LineDesk& desk) {
  static constexpr std::string_view kFf = "\xFF";
  while (!raw.empty()) {
    const char byte = raw.front();
    switch (state_) {
      case State::kPlain: {
        const size_t run = std::min(raw.find('\xFF'), raw.size());
        desk.feed(raw.substr(0, run));
        raw.remove_prefix(run);
        if (raw.empty()) return;
        state_ = State::kAfterFf;
        break;
      }
      case State::kAfterFf:
        state_ = byte == '\0' ? State::kAfterFf00 : State::kPlain;
        if (byte == '\xFF') desk.feed(kFf);
        if (byte == '\0' || byte == '\xFF') break;
        desk.feed(kFf);  // no mark: a driver that does not double FF
        continue;
      case State::kAfterFf00:
        desk.feed_damaged(byte);
        state_ = State::kPlain;
        break;
    }
    raw.remove_prefix(1);
  }
}

}  // namespace girdle::intake
