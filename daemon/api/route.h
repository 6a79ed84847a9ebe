// The routes of the API as data: what there is, who may, who answers. The server, the tests of roles and the OpenAPI
// document (schemas/openapi.yaml, which a test holds equal) go by the one table.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "api/desk.h"
#include "api/message.h"
#include "base/clock.h"

namespace girdle::api {

// What a route was called with.
struct Call {
  const Request& request;
  std::vector<std::string_view> parts;  // what stands in the place of the pattern's {names}
  const House& house;
  base::Instant now;
};

// On a reading thread; may take some milliseconds.
using ReadRoute = Response (*)(const Call& call, Teller& teller);
// The same, and needs to know how things stand: the server asks Desk::standing() first, and then runs it on a reading
// thread as it does a ReadRoute. (`call` must hold until then.)
using StandingRoute = Response (*)(const Call& call, Teller& teller, const Standing& standing);
// On the server's thread; must not block. What it needs of `call` after it returned it copies.
using DeedRoute = void (*)(const Call& call, Desk& desk, Answer answer);

struct Route {
  Method method = Method::kGet;
  std::string_view pattern;  // "/api/v1/cases/{id}"
  Role role = Role::kLook;
  size_t most_body = 0;      // bytes
  // One of the three; none: the server answers itself (events, session, health, metrics).
  ReadRoute read = nullptr;
  StandingRoute standing = nullptr;
  DeedRoute deed = nullptr;
};

std::span<const Route> routes();

// The route of a request; null with status 404, or with 405 and `allowed` ("GET, POST").
struct Found {
  const Route* route = nullptr;
  std::vector<std::string_view> parts;
  int status = 404;
  std::string allowed;
};
Found find_route(std::span<const Route> routes, const Request& request);

}  // namespace girdle::api
