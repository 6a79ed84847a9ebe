// The messages in what came over a line: lines, blocks with their check, or frames after ASTM
// E1381.
//
// Cuts with the service's own framers, so that what is found is what an intake will cut. Pure; any
// thread.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "draft/open_point.h"
#include "draft/sample.h"

namespace girdle::draft {

struct LineMessages {
  std::vector<Setting> frame;         // the keys of `frame`; empty: lines
  Samples messages;                   // each a document; the first 5,000
  std::vector<std::string> evidence;  // lines of comment
  std::vector<std::string> faults;    // stretches of which no message could be made, and why
  bool waits_for_answer = false;      // the sender; there may be no message then
};

// Whether a file's bytes are rather what a line carried: it has the marks of frames.
bool has_frame_marks(std::string_view bytes);

// Never fails: what has no marks is lines.
LineMessages messages_of(std::string_view bytes);

}  // namespace girdle::draft
