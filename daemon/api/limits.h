// What clients can cost the service: every bound of the HTTP server. The numbers of a request's shape stand in guard.h
// and request_parser.h.
#pragma once

#include <chrono>
#include <cstddef>
#include <cstdint>

namespace girdle::api {

struct Limits {
  using Time = std::chrono::milliseconds;

  size_t connections = 64;
  size_t refused = 16;          // more that are told so (503); any others are closed
  size_t listeners = 64;        // connections that listen to events; they do not count among the first
  size_t per_peer = 32;         // of one address that is not loopback; listeners count
  uint64_t requests = 100'000;  // on one connection

  Time handshake = std::chrono::seconds(10);
  Time header = std::chrono::seconds(10);  // from its first byte; on a fresh connection, from the start
  Time idle = std::chrono::seconds(60);    // between two requests
  Time body = std::chrono::seconds(30);
  Time write = std::chrono::seconds(15);    // one answer, or one frame of events
  Time farewell = std::chrono::seconds(1);  // TLS close_notify; reading on after a refusal, so that it arrives
  // An idle connection gives its place to a new one after so long.
  Time settled = std::chrono::seconds(1);

  Time deed = std::chrono::seconds(30);
  Time standing = std::chrono::seconds(5);
  size_t reads = 64;                             // requests that wait for a reading thread
  Time tokens_age = std::chrono::seconds(1);  // tokens are read anew when they are older

  Time frame = std::chrono::milliseconds(250);  // between two frames of events
  Time heartbeat = std::chrono::seconds(15);    // a comment where there is no frame
  Time recheck = std::chrono::seconds(5);       // whether a listener may still listen
};

}  // namespace girdle::api
