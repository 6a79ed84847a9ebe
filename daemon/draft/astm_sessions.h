// Sessions after ASTM E1381 in what a sender of such sent, whether or not somebody answered it.
//
// Cuts with the service's own framer. Pure; any thread.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "draft/open_point.h"

namespace girdle::draft {

struct AstmSessions {
  std::vector<std::string> texts;  // of the frames of each session
  size_t frames = 0;
  size_t enquiries = 0;             // ENQ
  std::vector<Setting> deviations;  // "accept.no_enq": keys of `frame`
  std::vector<std::string> faults;
};

// Nothing where there is neither an ENQ nor a frame.
std::optional<AstmSessions> astm_sessions(std::string_view bytes);

}  // namespace girdle::draft
