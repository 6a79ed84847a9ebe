// Writes down what a framer says, so that two runs can be compared.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "framing/framer.h"

namespace girdle::framing {

struct Said {
  bool is_frame = false;
  std::string bytes;
  uint64_t stream_offset = 0;
  std::string reason;
  bool truncated = false;

  bool operator==(const Said&) const = default;
};

class Recorder final : public FrameSink {
 public:
  void frame(const Frame& frame) override {
    said.push_back({true, std::string(frame.bytes), frame.stream_offset, "", false});
  }
  void fault(const Fault& fault) override {
    said.push_back(
        {false, std::string(fault.bytes), fault.stream_offset, fault.reason, fault.truncated});
  }

  std::vector<std::string> frames() const {
    std::vector<std::string> out;
    for (const Said& one : said) {
      if (one.is_frame) out.push_back(one.bytes);
    }
    return out;
  }
  std::vector<Said> faults() const {
    std::vector<Said> out;
    for (const Said& one : said) {
      if (!one.is_frame) out.push_back(one);
    }
    return out;
  }

  std::vector<Said> said;
};

// The whole stream in one feed, then the end of the line.
inline std::vector<Said> cut(const config::Framing& settings, std::string_view stream) {
  Recorder recorder;
  auto framer = make_framer(settings);
  (*framer)->feed(stream, recorder);
  (*framer)->reset(recorder);
  return recorder.said;
}

// The same stream, fed in pieces that end at the given places.
inline std::vector<Said> cut_at(const config::Framing& settings, std::string_view stream,
                                const std::vector<size_t>& places) {
  Recorder recorder;
  auto framer = make_framer(settings);
  size_t from = 0;
  for (const size_t to : places) {
    // A copy of its own: a view kept into an earlier piece would be caught by the sanitizer.
    (*framer)->feed(std::string(stream.substr(from, to - from)), recorder);
    from = to;
  }
  (*framer)->feed(std::string(stream.substr(from)), recorder);
  (*framer)->reset(recorder);
  return recorder.said;
}

inline std::string unhex(std::string_view text) {
  const auto digit = [](char c) { return c <= '9' ? c - '0' : (c | 0x20) - 'a' + 10; };
  std::string out;
  for (size_t i = 0; i + 1 < text.size(); i += 2) {
    out += static_cast<char>(digit(text[i]) << 4 | digit(text[i + 1]));
  }
  return out;
}

}  // namespace girdle::framing
