// The whole request that tells a webhook of outcomes: the request line, the headers, among them
// those of Standard Webhooks 1.0.0, and the body, in one piece.
#pragma once

#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/clock.h"
#include "base/time.h"
#include "config/problem.h"
#include "config/settings.h"
#include "delivery/body.h"
#include "delivery/request_parts.h"
#include "delivery/signature.h"
#include "delivery/url.h"
#include "model/outcome.h"

namespace girdle::delivery {

class OwnBody;

// Writes requests to one address. Not thread-safe; serves any number of connections, one after
// another.
class WebhookRequest {
 public:
  // Deliveries that a request could not say, by their places among those that it was given, and
  // why.
  using Unwritable = std::vector<std::pair<size_t, std::string>>;

  // Everything that is wrong in the outlet's body and request is reported, at its place; then there
  // is none. Without a signer requests are not signed. `zone` is the site's.
  static std::unique_ptr<WebhookRequest> create(const Url& url, const config::Outlet& outlet,
                                                const base::Zone& zone,
                                                std::optional<Signer> signer,
                                                const config::Report& report);

  // The bytes of a request with these deliveries, each of another case: one of them, or at most the
  // outlet's batch. Signed for `now`. They stand in `buffer` until it is changed; a buffer that is
  // used again costs no allocation.
  //
  // webhook-id is the event's; of a batch, "batch-" and 32 hexadecimal digits of the SHA-256 of its
  // events' ids. Both are the same for each attempt with the same deliveries.
  //
  // `authorization` is the value of that header, fit for one; empty: none. Deliveries that cannot
  // be said are added to `unwritable`, and the request goes without them; nothing is returned where
  // that is all of them.
  std::optional<std::string_view> write(std::string& buffer,
                                        std::span<const model::Delivery> deliveries,
                                        std::string_view authorization, base::Instant now,
                                        Unwritable& unwritable);

 private:
  WebhookRequest(std::unique_ptr<Body> body, RequestParts parts, std::optional<Signer> signer,
                 bool is_batch);

  bool begin_head(std::span<const model::Delivery> deliveries, Unwritable& unwritable);
  base::Result<void> begin_head(const model::Outcome& outcome);
  bool write_body(std::string& buffer, std::span<const model::Delivery> deliveries,
                  Unwritable& unwritable);
  base::Result<void> add_to_body(std::string& buffer, const model::Outcome& outcome);
  void end_head(std::string_view body, base::Instant now);

  std::unique_ptr<Body> body_;
  OwnBody* own_body_;  // body_, where it is one that takes an event
  RequestParts parts_;
  std::optional<Signer> signer_;
  const bool is_batch_;
  std::string host_;   // what follows the request line in every request
  std::string start_;  // the head's beginning, where it is the same in every request
  std::string head_, id_;
  ParsedEvent event_;  // of the one outcome, where the parts ask for it
};

}  // namespace girdle::delivery
