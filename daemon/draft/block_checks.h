// The check of blocks: which of the ways that the service knows holds over all of a stream.
//
// Pure; any thread.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "config/settings.h"
#include "draft/open_point.h"

namespace girdle::draft {

// A check's name, how it is written, what it covers.
struct BlockCheck {
  std::string name;  // as the key `check`; empty: none
  bool hex = false, low_first = false, with_start = false, with_end = true;

  config::Framing framing(const std::string& start, const std::string& end) const;
  // The keys of `frame` but for kind, start and end; those that keep their default are left out.
  std::vector<Setting> keys() const;
  // Of the check of one block.
  size_t bits() const;
};

// Over all blocks of the first 8 KiB.
std::vector<BlockCheck> checks_that_hold(std::string_view bytes, const std::string& start,
                                         const std::string& end);

}  // namespace girdle::draft
