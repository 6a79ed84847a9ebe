// /metrics in the text format of OpenMetrics 1.0, and /health/ready.
#pragma once

#include <cstdint>
#include <optional>

#include "api/desk.h"
#include "api/message.h"
#include "api/meters.h"
#include "base/clock.h"

namespace girdle::api {

// What only the server knows of itself.
struct ServerState {
  uint64_t connections = 0;  // open ones, those of listeners too
  uint64_t listeners = 0;    // to events
};

// On a reading thread: a few milliseconds whatever the ledger's size. Labels are names of the configuration and words of
// closed lists, so that no outsider makes one. What the ledger does not tell, because it cannot be read, is missing;
// the rest is told all the same. metric_families.h has what there is.
Response metrics(const House& house, const Standing& standing, const Meters& meters, Teller& teller, base::Instant now,
                 const std::optional<ServerState>& server = std::nullopt);

// 200 where the ledger is writable and every intake is up, 503 where it is not; a JSON object either way. An outlet that
// is closed, rests or has parked deliveries, or an intake in trouble, makes it "degraded" with 200: the service does its work. Anybody may ask,
// so it names what stands how, and keeps why to itself: that may hold paths and addresses.
Response ready(const House& house, const Standing& standing, Teller& teller);
// 200 as long as somebody answers.
Response live();

}  // namespace girdle::api
