// How a person reaches the service that has the ledger open: to send again, to pause an outlet, to open it. The command
// line connects to a socket beside the ledger (control_socket.h): one request a connection, one line each way
// (control_request.h), the answer after the commit.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/local/stream_protocol.hpp>
#include <boost/asio/steady_timer.hpp>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>

#include "base/clock.h"
#include "base/log.h"
#include "base/result.h"
#include "base/task_group.h"
#include "service/control_request.h"
#include "service/control_socket.h"

namespace girdle::service {

// The service's end. All calls come from the thread that runs the executor; the context outlives every Done.
class Control {
 public:
  // Once, from any thread: after the commit, or with the reason why there is none.
  using Done = std::function<void(base::Result<ControlAnswer> answer)>;
  using Act = std::function<void(ControlRequest request, Done done)>;

  struct Options {
    base::Millis for_request{5'000};  // from connecting to the end of the line; for the answer's bytes too
    base::Millis for_commit{30'000};
    size_t most = 4;  // connections at a time; others wait to be accepted
  };

  // The ledger's lock is held: whoever listened there before is dead.
  static base::Result<std::unique_ptr<Control>> open(boost::asio::any_io_executor executor,
                                                     const std::filesystem::path& ledger, Act act, const base::Log& log);
  static base::Result<std::unique_ptr<Control>> open(boost::asio::any_io_executor executor,
                                                     const std::filesystem::path& ledger, Act act, const base::Log& log,
                                                     const Options& options);

  void start();
  // Removes the socket. Whoever waits for an answer hears that the service ended; what they asked for may be done.
  boost::asio::awaitable<void> stop();

 private:
  using Protocol = boost::asio::local::stream_protocol;
  struct Waiting;

  Control(boost::asio::any_io_executor executor, ControlSocket place, Act act, const base::Log& log,
          const Options& options);
  boost::asio::awaitable<void> accept_all();
  boost::asio::awaitable<void> serve(Protocol::socket connection);
  boost::asio::awaitable<ControlAnswer> answer_to(std::string line);
  boost::asio::awaitable<ControlAnswer> act_on(ControlRequest request);
  bool may_ask(Protocol::socket& connection) const;

  ControlSocket place_;
  Act act_;
  base::Log log_;
  Options options_;
  Protocol::acceptor acceptor_;
  boost::asio::steady_timer free_;  // cancelled when a connection ends
  size_t connections_ = 0;
  base::TaskGroup tasks_;
};

// The person's end: blocks until the service has answered, at most so long. Nothing when no service has this ledger open.
// The error: whether it was done is not known, or the service may not be asked.
base::Result<std::optional<ControlAnswer>> ask(const std::filesystem::path& ledger, const ControlRequest& request,
                                               int patience_s = 40);

}  // namespace girdle::service
