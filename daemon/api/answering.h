// From a sound request to its answer: who asks, which route, which thread. On the server's thread.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <functional>
#include <memory>
#include <mutex>
#include <string_view>
#include <variant>
#include <vector>

#include "api/access.h"
#include "api/desk.h"
#include "api/feed.h"
#include "api/guard.h"
#include "api/home_thread.h"
#include "api/limits.h"
#include "api/offer.h"
#include "api/readers.h"
#include "api/route.h"
#include "base/clock.h"
#include "base/log.h"

namespace girdle::api {

// A request that may be answered. Shared with the thread that answers it, which may be at it longer than the connection
// is there.
struct Admitted {
  Guarded asked;
  Peer peer;
  Asker asker;
  const Route* route = nullptr;  // of this or of the next there is one
  const ConsoleFile* file = nullptr;
  std::vector<std::string_view> parts;
  size_t most_body = 0;

  bool is_events() const { return route != nullptr && route->pattern == "/api/v1/events"; }
};

class Answering {
 public:
  struct Parts {
    boost::asio::any_io_executor executor;
    std::shared_ptr<HomeThread> home;
    Desk& desk;
    const Meters& meters;
    const base::Clock& clock;
    base::Log log;
    Readers& readers;
    Feed& feed;
    std::function<ServerState()> state;
  };
  Answering(Parts parts, Offer offer, HostNames names, const Limits& limits);

  using Verdict = std::variant<std::shared_ptr<Admitted>, Response>;
  // By its header alone, before its body is read: whether there is such a thing, and who asks may have it.
  boost::asio::awaitable<Verdict> admit(Guarded asked, Peer peer);
  // Of all but events. The body is in asked.request.
  boost::asio::awaitable<Response> answer(std::shared_ptr<Admitted> admitted);

  // For who listens to events.
  boost::asio::awaitable<bool> may_still(const Asker& asker);
  std::string hello(const Admitted& admitted) const;
  Feed& feed() { return parts_.feed; }
  const base::Clock& clock() const { return parts_.clock; }

 private:
  std::optional<Verdict> find_file(const std::shared_ptr<Admitted>& admitted) const;
  boost::asio::awaitable<void> know_tokens(base::Millis most_age);
  boost::asio::awaitable<std::optional<Response>> identify(std::shared_ptr<Admitted> admitted);
  boost::asio::awaitable<Response> read(std::shared_ptr<Admitted> admitted);
  boost::asio::awaitable<Response> act(std::shared_ptr<Admitted> admitted);
  boost::asio::awaitable<Response> with_standing(std::shared_ptr<Admitted> admitted);
  Response of_standing(const Admitted& admitted, const House& house, const Standing& standing, Teller& teller,
                       const ServerState& state) const;
  boost::asio::awaitable<Response> own(std::shared_ptr<Admitted> admitted);
  boost::asio::awaitable<Response> session(std::shared_ptr<Admitted> admitted);
  Response sign_in(const Admitted& admitted);
  Response sign_out(const Admitted& admitted);
  Response tell_session(const Asker& asker) const;
  void fault(std::string_view what);

  using OnThread = std::function<Response(Teller& teller)>;
  boost::asio::awaitable<Response> on_thread(std::shared_ptr<Admitted> admitted, OnThread work);
  base::Millis now() const { return parts_.clock.elapsed(); }

  Parts parts_;
  Offer offer_;
  Limits limits_;
  Access access_;
  bool has_tokens_ = false;
  base::Millis tokens_at_{};
  std::once_flag told_;
};

}  // namespace girdle::api
