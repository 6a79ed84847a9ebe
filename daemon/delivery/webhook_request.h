// The request that carries an outcome to a webhook: a CloudEvents 1.0.2 event under the headers of
// Standard Webhooks 1.0.0 (design 4.4).
#pragma once

#include <string>
#include <string_view>

#include "base/clock.h"
#include "base/result.h"
#include "delivery/signature.h"
#include "delivery/url.h"
#include "model/outcome.h"

namespace girdle::delivery {

// Writes requests to one address. Not thread-safe.
class WebhookRequest {
 public:
  WebhookRequest(const Url& url, Signer signer);

  // The bytes of the whole request, signed for `now`. They stand in `buffer` until it is changed; a
  // buffer that is used again costs no allocation. The error: the outcome's id cannot stand in a
  // header.
  base::Result<std::string_view> write(std::string& buffer, const model::Outcome& outcome,
                                       base::Instant now);

 private:
  std::string fixed_;  // what is the same for each request
  std::string head_;
  Signer signer_;
};

}  // namespace girdle::delivery
