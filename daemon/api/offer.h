// What the server offers, besides itself: the routes, the console's files, and what is told by other parts of api/.
#pragma once

#include <functional>
#include <span>
#include <string>
#include <vector>

#include "api/access.h"
#include "api/console_files.h"
#include "api/desk.h"
#include "api/feed.h"
#include "api/message.h"
#include "api/meters.h"
#include "api/metrics.h"
#include "api/route.h"
#include "base/clock.h"
#include "base/result.h"

namespace girdle::api {

// All functions but `live` run on a reading thread.
struct Offer {
  std::span<const Route> routes;
  std::span<const ConsoleFile> files;
  std::function<base::Result<std::vector<KnownToken>>(Teller& teller)> tokens;
  Feed::Line line;
  std::function<Response(const House& house, const Standing& standing, const Meters& meters, Teller& teller,
                         base::Instant now, const ServerState& server)>
      metrics;
  std::function<Response(const House& house, const Standing& standing, Teller& teller)> ready;
  std::function<Response()> live;
};

// The program's own.
Offer standard_offer();

}  // namespace girdle::api
