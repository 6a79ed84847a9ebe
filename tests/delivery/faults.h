// Everything that the other end of a connection does wrong, for all places where a connection has
// one: the receiver, a proxy, a token endpoint.
#pragma once

#include <chrono>
#include <functional>
#include <ostream>
#include <string>
#include <string_view>
#include <vector>

#include "delivery/bad_peer.h"

namespace girdle::delivery {

// What would be right at the place: an answer, and what comes after it.
struct RightWay {
  std::string answer;
  std::function<void(BadPeer::Line&)> go_on = [](BadPeer::Line&) {};
};

struct Fault {
  std::string_view name;
  std::function<void(BadPeer::Line&, const RightWay&)> script;  // empty: nobody listens
  // What the client says of it: a part of its error, or "answered STATUS".
  std::string_view receiver, proxy, token;
  std::chrono::milliseconds timeout{
      10000};  // of the client; nothing lasts long but what ends by it
};

const std::vector<Fault>& faults();

inline void PrintTo(const Fault& fault, std::ostream* out) { *out << fault.name; }

}  // namespace girdle::delivery
