// Byte 0: the split; bytes 1 and 2: what is accepted; byte 3: the limit; the rest is the stream.
// Whatever comes, any split says the same, memory is bounded, and silences change what is said, but
// never to something that was not there.
#include <cstdint>
#include <cstdlib>

#include "astm_recorder.h"
#include "framing/astm_session.h"

namespace girdle::framing {
namespace {

// Takes every frame that a session allows, as a desk would, and holds save() against load().
class Taker final : public AstmSigns {
 public:
  explicit Taker(const config::Framing& settings) : settings_(settings), session_(settings) {}

  void enquiry() override { session_.open(); }
  void end() override { session_.close(); }
  void frame(const AstmFrame& frame) override {
    auto verdict = session_.judge(frame);
    if (verdict.kind == AstmSession::Verdict::Kind::kBeginAnew) {
      session_.close();
      verdict = session_.judge(frame);
    }
    if (verdict.kind != AstmSession::Verdict::Kind::kTake) return;
    const std::string text = session_.rest() + text_to_read(frame);
    const size_t end = text.rfind('\r') + 1;
    session_.take(frame, text.substr(end), "reader");
    if (session_.rest().size() > settings_.max_bytes) std::abort();
    AstmSession other(settings_);
    if (!other.load(session_.save()) || other.save() != session_.save()) std::abort();
    if (other.judge(frame).kind != AstmSession::Verdict::Kind::kRepeat) std::abort();
  }
  void broken_frame(const Fault&) override {}
  void junk(const Fault&) override {}

 private:
  config::Framing settings_;
  AstmSession session_;
};

void fuzz(const config::Framing& settings, std::string_view stream, uint8_t seed) {
  const AstmRecorder whole = said_of(settings, stream);
  if (whole.longest > settings.max_bytes + 6) std::abort();
  std::vector<size_t> places;
  for (size_t at = seed % 7 + 1; at < stream.size(); at += (seed * at) % 13 + 1) {
    places.push_back(at);
  }
  const AstmRecorder split = said_of(settings, stream, places);
  if (split.said != whole.said || split.offsets != whole.offsets) std::abort();
  Taker taker(settings);
  AstmFramer framer(settings);
  for (const char byte : stream) {
    framer.feed({&byte, 1}, taker);
    if (seed & 1) framer.quiet(taker);
    if (framer.pending() > settings.max_bytes + 6) std::abort();
  }
  AstmSession session(settings);
  session.load(stream);
}

}  // namespace
}  // namespace girdle::framing

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  if (size < 4) return 0;
  girdle::config::Framing settings;
  settings.kind = girdle::config::Framing::Kind::kAstm;
  for (size_t i = 0; i < settings.accept.size(); ++i) {
    settings.accept[i] = (data[1] | data[2] << 8) >> i & 1;
  }
  settings.max_bytes = 1 + data[3];
  girdle::framing::fuzz(settings, {reinterpret_cast<const char*>(data) + 4, size - 4}, data[0]);
  return 0;
}
