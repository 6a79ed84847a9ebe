// One way by which messages leave: what the dispatcher asks of webhooks and drop folders.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "model/outcome.h"

namespace girdle::delivery {

// How an attempt ended.
struct Attempt {
  enum class End {
    kAnswered,  // by `status`
    kTaken,     // a folder has it
    kFailed,    // no answer came, or the folder could not take it: why is in `failure`
  } end = End::kFailed;
  int status = 0;           // of the answer; 0 = none came
  std::string retry_after;  // the answer's header, as it was sent
  std::string failure;      // for a person; where the receiver said why (RFC 9457), that too
  std::string answer;       // its first bytes, at most kKeptOfAnswer
  std::string reference;    // the receiver's own name for what it took
  // Deliveries that the message could not say, by their places in the attempt, and why. Where that is all of them,
  // nothing was sent, and the rest of this means nothing.
  std::vector<std::pair<size_t, std::string>> unwritable;

  static constexpr size_t kKeptOfAnswer = 256;
};

// One at a time. All calls come from the delivery thread. Goes only when no send() is under way.
class Sender {
 public:
  virtual ~Sender() = default;

  // One message with these deliveries, each of another case; they stay until it returns. Throws only when it is
  // cancelled.
  virtual boost::asio::awaitable<Attempt> send(std::span<const model::Delivery> deliveries) = 0;
};

}  // namespace girdle::delivery
