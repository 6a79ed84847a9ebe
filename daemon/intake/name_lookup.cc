#include "intake/name_lookup.h"

#include <netdb.h>
#include <sys/eventfd.h>
#include <unistd.h>

#include <atomic>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <cerrno>
#include <cstring>
#include <system_error>
#include <thread>
#include <utility>

#include "intake/bell.h"
#include "intake/files.h"

namespace girdle::intake {

namespace asio = boost::asio;

namespace {

int look_up(const std::string& host, const std::string& port, int flags,
            std::vector<Address>& out) {
  addrinfo hints = {};
  hints.ai_socktype = SOCK_STREAM;
  hints.ai_flags = AI_NUMERICSERV | flags;
  addrinfo* found = nullptr;
  const int result = ::getaddrinfo(host.c_str(), port.c_str(), &hints, &found);
  if (result != 0) return result;
  for (const addrinfo* at = found; at != nullptr; at = at->ai_next) {
    Address& address = out.emplace_back();
    std::memcpy(&address.bytes, at->ai_addr, at->ai_addrlen);
    address.length = at->ai_addrlen;
  }
  ::freeaddrinfo(found);
  return 0;
}

}  // namespace

// Shared with the thread; `addresses` and `result` are the thread's until `is_done`.
struct NameLookup::Pending {
  Descriptor done;  // an eventfd, readable when the lookup has ended
  std::atomic<bool> is_done = false;
  std::vector<Address> addresses;
  int result = 0;
};

NameLookup::NameLookup(asio::any_io_executor executor, std::string host, uint16_t port)
    : executor_(std::move(executor)), host_(std::move(host)), port_(std::to_string(port)) {}

asio::awaitable<base::Result<std::vector<Address>>> NameLookup::find(
    std::chrono::milliseconds deadline) {
  std::vector<Address> numeric;
  if (look_up(host_, port_, AI_NUMERICHOST, numeric) == 0) co_return numeric;
  if (!pending_) {
    auto begun = std::make_shared<Pending>();
    begun->done = Descriptor(::eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK));
    if (!begun->done)
      co_return base::environment_error("no lookup of " + host_ + ": " + base::errno_text(errno));
    try {
      std::thread([begun, host = host_, port = port_] {
        begun->result = look_up(host, port, 0, begun->addresses);
        begun->is_done = true;
        ::eventfd_write(begun->done.get(), 1);
      }).detach();
    } catch (const std::system_error& failed) {
      co_return base::environment_error("no lookup of " + host_ + ": " + failed.what());
    }
    pending_ = std::move(begun);
  }
  asio::posix::stream_descriptor done(executor_, ::dup(pending_->done.get()));
  co_await Bell(executor_).wait(std::chrono::steady_clock::now() + deadline, &done);
  if (!pending_->is_done)
    co_return base::environment_error("no answer to the lookup of the name " + host_);
  const auto ended = std::exchange(pending_, nullptr);
  if (ended->result != 0) {
    co_return base::environment_error("the name " + host_ +
                                      " has no address: " + ::gai_strerror(ended->result));
  }
  co_return std::move(ended->addresses);
}

}  // namespace girdle::intake
