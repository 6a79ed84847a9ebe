// What would be sent of an outcome, byte for byte, without sending it.
#pragma once

#include <optional>
#include <string>

#include "base/clock.h"
#include "base/time.h"
#include "config/problem.h"
#include "config/settings.h"
#include "model/outcome.h"

namespace girdle::delivery {

struct MessagePreview {
  std::string file;   // its name, of a folder
  std::string bytes;  // a whole request, or the file's. The value of Authorization is left out: it is a secret
  std::string unwritable;  // why the outcome cannot be said; then there are no bytes
};

// As at `now`, for the signature. What is wrong in the configuration is reported; then there is nothing.
std::optional<MessagePreview> preview_message(const config::Outlet& outlet, const model::Outcome& outcome,
                                              const base::Zone& zone, base::Instant now, const config::Report& report);

}  // namespace girdle::delivery
