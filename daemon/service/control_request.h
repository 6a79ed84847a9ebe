// What a person asks of a ledger that a service may have open, and the answer: values, and the JSON lines in which they
// go over the control socket (control.h). Both ends read what the other may have got wrong, or may be of another version.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <variant>

#include "base/digest.h"
#include "base/result.h"
#include "ledger/ledger.h"

namespace girdle::service {

struct ResendRequest {
  ledger::Selection selection;
};
struct PauseRequest {
  std::string outlet;
  std::string why;  // and who
};
// Opens an outlet that is closed, too.
struct ResumeRequest {
  std::string outlet;
};
// Lets somebody in over HTTP. The token itself goes nowhere.
struct AddTokenRequest {
  std::string name;  // 1 to kMostTokenName visible characters; unique among those that hold
  std::string role;  // look, work or admin
  base::Digest digest{};
};
struct RevokeTokenRequest {
  std::string name;
};
using ControlRequest = std::variant<ResendRequest, PauseRequest, ResumeRequest, AddTokenRequest, RevokeTokenRequest>;

// The outlet that is paused or resumed; null of the others.
inline const std::string* named_outlet(const ControlRequest& request) {
  if (const auto* pause = std::get_if<PauseRequest>(&request)) return &pause->outlet;
  const auto* resume = std::get_if<ResumeRequest>(&request);
  return resume == nullptr ? nullptr : &resume->outlet;
}

struct ControlAnswer {
  // Both empty: it is done, and durable.
  std::string refused;  // why nothing was done: the request, or the state, is wrong
  std::string failed;   // why it is not known to be durable: disk, time
  ledger::Resent resent;  // of a ResendRequest; of a ResumeRequest those that waited for their next attempt
  bool changed = false;   // of the others: false when it was so already
};

inline ControlAnswer refusal(std::string why) {
  ControlAnswer answer;
  answer.refused = std::move(why);
  return answer;
}

inline constexpr size_t kMostRequestBytes = 64 << 10;  // of a line, its end included
inline constexpr size_t kMostWhyBytes = 500;
inline constexpr size_t kMostTokenName = 60;

// One line, without its end.
std::string to_line(const ControlRequest& request);
std::string to_line(const ControlAnswer& answer);

// Of any bytes. The error says what is wrong with them.
base::Result<ControlRequest> parse_request(std::string_view line);
base::Result<ControlAnswer> parse_answer(std::string_view line);

}  // namespace girdle::service
