// What a request must be before anybody looks at what it asks: pure checks of its header, and its target taken apart.
//
// The rule is that of RFC 9112 11.2: where two readers could take a message for two different ones, it is refused, and
// the connection is closed.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <variant>

#include "api/message.h"
#include "api/request_parser.h"

namespace girdle::api {

// A request whose header is sound. Its body has not been read, and nobody knows yet who asks.
struct Guarded {
  Request request;
  bool is_head = false;  // a GET whose body is not sent
  bool keep_alive = true;
  bool chunked = false;
  uint64_t length = 0;          // what Content-Length says
  bool wants_continue = false;  // RFC 9110 10.1.1

  // A proxy brought it (RFC 7239 4, RFC 9110 7.6.3, or the older custom): who asks is somebody behind it.
  bool is_forwarded = false;
  // For access.h. Empty where the request has no such field.
  std::string host, authorization, cookie, origin, fetch_site, console;

  bool has_body() const { return chunked || length > 0; }
};

std::variant<Guarded, Refusal> guard(const RequestHead& head);

// The target's path and query, percent-decoded. Only the origin-form (RFC 9112 3.2.1): we are nobody's proxy, and an
// absolute target would name the host a second time.
std::variant<std::monostate, Refusal> read_target(std::string_view target, Request& request);

}  // namespace girdle::api
