// The bodies of /api/v1/session.
#pragma once

#include <string>
#include <string_view>

#include "api/desk.h"
#include "api/message.h"
#include "base/clock.h"
#include "base/result.h"

namespace girdle::api {

std::string session_text(const Caller& caller, bool signed_in, const House& house, base::Instant now);

// Of {"token": "…"}. The error names the member; never what stands there.
base::Result<std::string> token_of(std::string_view body);

}  // namespace girdle::api
