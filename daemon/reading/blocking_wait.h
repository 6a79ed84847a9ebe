// Waiting for a call's answer by whoever may block: a person's preview, a check, a test.
#pragma once

#include <stop_token>

#include "reading/carrier.h"

namespace girdle::reading {

// Returns when the descriptor is ready, the time has come, or it was asked to stop.
void block(const Wait& wait, const std::stop_token& stop = {});

}  // namespace girdle::reading
