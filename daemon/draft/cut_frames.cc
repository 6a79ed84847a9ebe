#include "draft/cut_frames.h"

namespace girdle::draft {
namespace {

constexpr size_t kMostFrames = 5'000;
constexpr size_t kMostFaults = 5;

}  // namespace

void CutFrames::frame(const framing::Frame& frame) {
  if (frame_count++ < kMostFrames) frames.emplace_back(frame.bytes);
}

void CutFrames::fault(const framing::Fault& fault) {
  ++fault_count;
  keep_fault(fault, faults);
}

CutFrames cut_frames(std::string_view bytes, const config::Framing& framing) {
  CutFrames out;
  const auto framer = framing::make_framer(framing);
  if (!framer) return out;
  (*framer)->feed(bytes, out);
  // What stands behind the last block is told when another begins.
  const bool between = framing.kind == config::Framing::Kind::kBlock && (*framer)->pending() == 0;
  if (between) (*framer)->feed(framing.start, out);
  return out;
}

void keep_fault(const framing::Fault& fault, std::vector<std::string>& faults) {
  if (faults.size() == kMostFaults) return;
  faults.push_back("byte " + std::to_string(fault.stream_offset) + ": " + fault.reason);
}

}  // namespace girdle::draft
