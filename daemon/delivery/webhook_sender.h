// Posts outcomes to a webhook: what all of an outlet's connections share, and a sender for each of them.
#pragma once

#include <memory>
#include <vector>

#include "config/problem.h"
#include "config/settings.h"
#include "delivery/open_senders.h"

namespace girdle::delivery {

class WebhookRequest;

// `outlet.in_flight` of them; otherwise as open_senders().
std::vector<std::unique_ptr<Sender>> open_webhook_senders(const config::Outlet& outlet, const SenderParts& parts,
                                                          const config::Report& report);

// What writes the outlet's requests, with its secrets; reports what is wrong as above.
std::unique_ptr<WebhookRequest> open_request(const config::Outlet& outlet, const base::Zone& zone,
                                             const config::Report& report);

}  // namespace girdle::delivery
