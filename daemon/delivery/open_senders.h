// The senders of an outlet: webhooks with a connection each, or the one that fills a drop folder.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <memory>
#include <string>
#include <vector>

#include "base/clock.h"
#include "base/log.h"
#include "base/time.h"
#include "config/problem.h"
#include "config/settings.h"
#include "delivery/sender.h"

namespace girdle::delivery {

class Resolver;

// Whatever senders need besides their outlet. The references outlive them.
struct SenderParts {
  boost::asio::any_io_executor executor;
  Resolver& resolver;
  const base::Clock& clock;
  base::Log log;
  base::Zone zone = base::Zone::utc();  // of the house, for times in bodies
  std::string site{};
};

// One for each attempt that may be under way at a time; reads secrets and certificates. All that is wrong is reported,
// with its place in the configuration; there are none then.
std::vector<std::unique_ptr<Sender>> open_senders(const config::Outlet& outlet, const SenderParts& parts,
                                                  const config::Report& report);

// The same without making anything, for whoever only wants to know what is wrong.
void check_senders(const config::Outlet& outlet, const base::Zone& zone, const config::Report& report);

}  // namespace girdle::delivery
