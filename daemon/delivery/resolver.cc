#include "delivery/resolver.h"

#include <netdb.h>

#include <algorithm>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <mutex>
#include <optional>
#include <system_error>
#include <thread>
#include <unordered_map>

namespace girdle::delivery {
namespace asio = boost::asio;

namespace {

using Clock = std::chrono::steady_clock;
using Found = base::Result<Resolver::Addresses>;

base::Error not_found(const std::string& host, std::string_view why) {
  return base::environment_error("the name " + host + " cannot be resolved: " + std::string(why));
}

}  // namespace

// Shared with the threads, which may outlive the resolver. Everything but `mutex` and `closed`
// belongs to the executor's thread.
struct Resolver::State : std::enable_shared_from_this<State> {
  struct Name {
    bool looking = false;
    std::optional<Found> found;
    Clock::time_point until{};  // how long `found` may be used
    std::vector<asio::steady_timer*>
        waiting;  // in the frames of coroutines; cancelled when the name is found
  };

  State(asio::any_io_executor where, Options how, Lookup by)
      : executor(std::move(where)), options(how), lookup(std::move(by)) {}

  void start(const std::string& host, Name& name);
  void look_up(const std::string& host);
  void finish(const std::string& host, Found found);
  void forget_old();

  asio::any_io_executor executor;
  Options options;
  Lookup lookup;
  std::unordered_map<std::string, Name> names;
  size_t running = 0;
  std::mutex mutex;
  bool closed = false;
};

void Resolver::State::start(const std::string& host, Name& name) {
  if (running >= options.threads) {
    name.found = not_found(host, "too many lookups are still under way");
    name.until = Clock::now();
    return;
  }
  try {
    std::thread([state = shared_from_this(), host] { state->look_up(host); }).detach();
  } catch (const std::system_error& e) {
    name.found = not_found(host, e.what());
    name.until = Clock::now();
    return;
  }
  name.looking = true;
  name.found.reset();
  ++running;
}

// On a thread of its own.
void Resolver::State::look_up(const std::string& host) {
  Found found = not_found(host, "the lookup failed");
  try {
    found = lookup(host);
  } catch (const std::exception& e) {
    found = not_found(host, e.what());
  }
  const std::lock_guard lock(mutex);
  if (closed) return;
  asio::post(executor, [state = shared_from_this(), host, found = std::move(found)]() mutable {
    state->finish(host, std::move(found));
  });
}

void Resolver::State::finish(const std::string& host, Found found) {
  --running;
  Name& name = names[host];
  name.looking = false;
  name.until = Clock::now() + (found ? options.keep : options.keep_error);
  name.found = std::move(found);
  for (asio::steady_timer* const timer : name.waiting) timer->cancel();
}

void Resolver::State::forget_old() {
  static constexpr size_t kFew = 64;  // more names than any house has outlets
  if (names.size() < kFew) return;
  const auto now = Clock::now();
  std::erase_if(names, [&](const auto& entry) {
    const Name& name = entry.second;
    return !name.looking && name.waiting.empty() && name.until < now;
  });
}

Resolver::Resolver(asio::any_io_executor executor)
    : Resolver(std::move(executor), Options(), system_lookup) {}

Resolver::Resolver(asio::any_io_executor executor, Options options, Lookup lookup)
    : state_(std::make_shared<State>(std::move(executor), options, std::move(lookup))) {}

Resolver::~Resolver() {
  const std::lock_guard lock(state_->mutex);
  state_->closed = true;
}

asio::awaitable<Found> Resolver::resolve(std::string host, Time deadline) {
  boost::system::error_code error;
  const auto literal = asio::ip::make_address(host, error);
  if (!error) co_return Addresses{literal};

  State& state = *state_;
  state.forget_old();
  State::Name& name = state.names[host];  // stays where it is while somebody waits for it
  if (!name.looking && (!name.found || name.until < Clock::now())) state.start(host, name);
  if (name.looking) {
    asio::steady_timer timer(state.executor,
                             std::min(deadline, Clock::now() + state.options.timeout));
    struct Waiting {
      State::Name& name;
      asio::steady_timer* timer;
      ~Waiting() { std::erase(name.waiting, timer); }
    };
    name.waiting.push_back(&timer);
    const Waiting waiting{name, &timer};
    co_await timer.async_wait(asio::redirect_error(asio::use_awaitable, error));
  }
  if (name.looking || !name.found) co_return not_found(host, "the name service does not answer");
  co_return *name.found;
}

void Resolver::forget(const std::string& host) {
  const auto name = state_->names.find(host);
  if (name == state_->names.end() || name->second.looking) return;
  name->second.until = Clock::time_point::min();
}

Found Resolver::system_lookup(const std::string& host) {
  addrinfo hints{};
  hints.ai_socktype = SOCK_STREAM;
  addrinfo* list = nullptr;
  const int code = ::getaddrinfo(host.c_str(), nullptr, &hints, &list);
  if (code != 0) return not_found(host, ::gai_strerror(code));
  Addresses addresses;
  for (const addrinfo* at = list; at != nullptr; at = at->ai_next) {
    asio::ip::tcp::endpoint endpoint;
    if (at->ai_addrlen > endpoint.capacity()) continue;
    std::copy_n(reinterpret_cast<const char*>(at->ai_addr), at->ai_addrlen,
                reinterpret_cast<char*>(endpoint.data()));
    addresses.push_back(endpoint.address());
  }
  ::freeaddrinfo(list);
  if (addresses.empty()) return not_found(host, "it has no address");
  return addresses;
}

}  // namespace girdle::delivery
