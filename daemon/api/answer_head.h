// What stands before an answer's body: status, fields that every answer has, the entity tag. Pure.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "api/message.h"
#include "base/clock.h"

namespace girdle::api {

struct AnswerFraming {
  bool tls = false;
  bool keep_alive = true;
  bool endless = false;      // its end is the connection's (RFC 9112 6.3, 8): events
  bool may_be_kept = false;  // the console's files: asked for anew each time, but not sent again
};

// The status line and the fields, with the empty line. Nothing where a field that the answer brings along cannot stand
// in a header (a control character would begin a field of its own, RFC 9110 5.5), or is the server's.
std::optional<std::string> write_head(const Response& response, const AnswerFraming& framing, base::Instant now);

// "Sun, 06 Nov 1994 08:49:37 GMT" (RFC 9110 5.6.7).
std::string http_date(base::Instant instant);

// Gives a 200 its strong entity tag (RFC 9110 8.8.3), the first 16 bytes of the body's SHA-256, unless it has one;
// makes a 304 of it where If-None-Match names that (13.1.2).
void settle_tag(Response& response, std::string_view if_none_match);

}  // namespace girdle::api
