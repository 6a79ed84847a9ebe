// Problem details (RFC 9457): what a refusal looks like.
#pragma once

#include <string>
#include <string_view>

#include "api/desk.h"
#include "api/message.h"
#include "base/result.h"

namespace girdle::api {

// `detail` says what is wrong with this request and what would be right; never a secret, never bytes of the request
// that were not checked for being text. The type is about:blank, so the title is the status' own words (RFC 9110).
Response problem(int status, std::string_view detail);
// An error of the ledger: 503 where trying again later may help, else 500.
Response problem(const base::Error& error);
// Of all kinds but kDone.
Response problem(const DeedAnswer& answer);
std::string_view reason_phrase(int status);

}  // namespace girdle::api
