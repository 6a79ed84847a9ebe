// What the service's own framers make of a stretch of a line, so that what is found is what an
// intake will cut.
//
// Pure; any thread.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "config/settings.h"
#include "framing/framer.h"

namespace girdle::draft {

// Keeps the first of both, and counts all.
class CutFrames final : public framing::FrameSink {
 public:
  void frame(const framing::Frame& frame) override;
  void fault(const framing::Fault& fault) override;

  std::vector<std::string> frames;
  std::vector<std::string> faults;  // "byte 17: why"
  size_t frame_count = 0, fault_count = 0;
};

// None where the framing is not sound.
CutFrames cut_frames(std::string_view bytes, const config::Framing& framing);

// "byte 17: why", unless there are plenty already.
void keep_fault(const framing::Fault& fault, std::vector<std::string>& faults);

}  // namespace girdle::draft
