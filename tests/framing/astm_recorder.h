// Writes down what an AstmFramer says, so that two runs can be compared; and makes frames.
#pragma once

#include <cstdio>
#include <string>
#include <string_view>
#include <vector>

#include "framing/astm_framer.h"

namespace girdle::framing {

inline config::Framing astm_settings(const std::vector<config::AstmDeviation>& accept = {}) {
  config::Framing settings;
  settings.kind = config::Framing::Kind::kAstm;
  for (const config::AstmDeviation one : accept) settings.accept.set(static_cast<size_t>(one));
  return settings;
}

// "<ENQ>", "<EOT>", "1:text<ETX>" or "1:text<ETB>" with the names of its deviations behind it,
// "broken: reason", "junk: bytes".
class AstmRecorder final : public AstmSigns {
 public:
  void enquiry() override { said.push_back("<ENQ>"); }
  void end() override { said.push_back("<EOT>"); }
  void frame(const AstmFrame& frame) override {
    std::string text = std::to_string(frame.number) + ":" + std::string(frame.text) +
                       (frame.is_last ? "<ETX>" : "<ETB>");
    for (size_t i = 0; i < frame.deviations.size(); ++i) {
      if (frame.deviations[i]) text += " " + std::string(config::kAstmDeviationNames[i]);
    }
    said.push_back(std::move(text));
    offsets.push_back(frame.stream_offset);
    bytes += frame.bytes;
  }
  void broken_frame(const Fault& fault) override {
    said.push_back("broken: " + fault.reason);
    offsets.push_back(fault.stream_offset);
    bytes += fault.bytes;
    longest = std::max(longest, fault.bytes.size());
  }
  void junk(const Fault& fault) override {
    said.push_back("junk: " + std::string(fault.bytes) + (fault.truncated ? "…" : ""));
    offsets.push_back(fault.stream_offset);
    longest = std::max(longest, fault.bytes.size());
  }

  std::vector<std::string> said;
  std::vector<uint64_t> offsets;  // of frames, broken frames and junk
  std::string bytes;              // of frames and broken frames
  size_t longest = 0;
};

// In pieces that end at the given places, then the end of the line.
inline AstmRecorder said_of(const config::Framing& settings, std::string_view stream,
                            const std::vector<size_t>& places = {}) {
  AstmRecorder recorder;
  AstmFramer framer(settings);
  size_t from = 0;
  for (const size_t to : places) {
    // A copy of its own: a view kept into an earlier piece would be caught by the sanitizer.
    framer.feed(std::string(stream.substr(from, to - from)), recorder);
    from = to;
  }
  framer.feed(std::string(stream.substr(from)), recorder);
  framer.reset("the line was lost before the end of this frame", recorder);
  return recorder;
}

// STX, number, text, end, the sum of the last three in two digits, CR LF.
inline std::string astm_frame(int number, std::string_view text, char end = '\x03') {
  const std::string summed = std::to_string(number) + std::string(text) + end;
  unsigned sum = 0;
  for (const unsigned char byte : summed) sum += byte;
  char digits[3];
  std::snprintf(digits, sizeof digits, "%02X", sum & 0xFF);
  return "\x02" + summed + digits + "\r\n";
}

}  // namespace girdle::framing
