// How much one message of an outlet holds.
#pragma once

#include "config/settings.h"

namespace girdle::delivery {

// In a folder, and in a batch, outcomes are lines, rows or elements; else a message is one outcome.
inline bool holds_several(const config::Outlet& outlet) {
  return outlet.folder.has_value() || outlet.batch.count > 1;
}

}  // namespace girdle::delivery
