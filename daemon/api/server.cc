#include "api/server.h"

#include <algorithm>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <exception>
#include <mutex>
#include <optional>
#include <thread>
#include <utility>

#include "api/answering.h"
#include "api/connection.h"
#include "api/home_thread.h"
#include "api/limits.h"
#include "api/listening.h"
#include "api/offer.h"
#include "api/readers.h"
#include "api/roll.h"
#include "api/tls_server.h"
#include "base/task_group.h"

namespace girdle::api {

namespace asio = boost::asio;
using asio::ip::tcp;
using boost::system::error_code;

namespace {

constexpr auto kBackOff = std::chrono::milliseconds(100);
// stop() promises two seconds; what is left by then is dropped.
constexpr auto kMostStop = std::chrono::milliseconds(1'500);

asio::awaitable<void> run_connection(std::shared_ptr<Connection> connection) { co_await connection->run(); }

HostNames::Settings names_of(const ServerSettings& settings, const TlsServer* tls, uint16_t port) {
  HostNames::Settings names;
  names.tls = tls != nullptr;
  names.port = port;
  names.hosts = settings.hosts;
  if (tls != nullptr) names.certificate = tls->names();
  return names;
}

}  // namespace

struct Server::State {
  State(const ServerSettings& of, const Parts& with, Offer offered, const Limits& bounds)
      : settings(of), parts(with), limits(bounds), roll(bounds), offer(std::move(offered)) {}
  ~State() { stop(); }

  base::Result<void> open();
  void start();
  void stop();

  void run();
  void told_fault(std::string_view what);
  asio::awaitable<void> accept_all(tcp::acceptor& acceptor);
  asio::awaitable<void> wait_a_little();
  void welcome(tcp::socket socket);
  void make_room();
  void begin_stop();
  asio::awaitable<void> end();

  ServerSettings settings;
  Parts parts;
  Limits limits;
  Roll roll;
  Offer offer;
  std::vector<std::weak_ptr<Connection>> connections;

  asio::io_context io{1};
  std::optional<asio::executor_work_guard<asio::io_context::executor_type>> work{io.get_executor()};
  std::shared_ptr<HomeThread> home = std::make_shared<HomeThread>(io);
  std::unique_ptr<TlsServer> tls;
  std::vector<tcp::acceptor> acceptors;
  uint16_t port = 0;
  Readers readers{parts.desk, limits.reads, parts.log};
  std::shared_ptr<Feed> feed;
  std::unique_ptr<Answering> answering;
  base::TaskGroup tasks{io.get_executor(), [this](const std::exception_ptr&) { told_fault("a connection"); }};
  asio::steady_timer stop_timer{io};
  std::once_flag told;
  bool refuses = false;  // the system gives no more sockets
  bool stopped = false;
  std::thread thread;
};

base::Result<void> Server::State::open() {
  if (settings.certificate_file.empty() != settings.key_file.empty()) {
    return base::input_error("a certificate goes with its key: give both, or none");
  }
  if (!settings.certificate_file.empty()) {
    auto made = TlsServer::create(settings.certificate_file, settings.key_file);
    if (!made) return std::move(made.error());
    tls = std::move(made).value();
  }
  auto listening = listen_at(io, settings.host, settings.port, tls != nullptr);
  if (!listening) return std::move(listening.error());
  acceptors = std::move(listening).value();
  port = acceptors.front().local_endpoint().port();
  Feed::Parts of_feed{io.get_executor(), home,        readers,          [&desk = parts.desk] { return desk.house(); },
                      offer.line,        parts.heard, parts.clock.now()};
  feed = std::make_shared<Feed>(std::move(of_feed), limits);
  answering = std::make_unique<Answering>(
      Answering::Parts{io.get_executor(), home, parts.desk, parts.meters, parts.clock, parts.log, readers, *feed,
                       [this] {
                         return ServerState{roll.connected(), roll.listeners()};
                       }},
      offer, HostNames(names_of(settings, tls.get(), port)), limits);
  return {};
}

void Server::State::told_fault(std::string_view what) {
  std::call_once(told, [&] { parts.log.error("the API met a fault of the program", {{"where", what}}); });
}

void Server::State::run() {
  for (;;) {
    try {
      io.run();
      return;
    } catch (const std::exception& fault) {
      told_fault(fault.what());  // it cost one connection
    }
  }
}

void Server::State::start() {
  readers.start();
  for (tcp::acceptor& acceptor : acceptors) tasks.spawn(accept_all(acceptor));
  thread = std::thread([this] { run(); });
  parts.log.info("the API listens", {{"host", settings.host}, {"port", port}, {"tls", tls ? "yes" : "no"}});
}

asio::awaitable<void> Server::State::wait_a_little() {
  asio::steady_timer timer(io, kBackOff);
  error_code ignored;
  co_await timer.async_wait(asio::redirect_error(asio::use_awaitable, ignored));
}

asio::awaitable<void> Server::State::accept_all(tcp::acceptor& acceptor) {
  while (acceptor.is_open()) {
    error_code failed;
    tcp::socket socket = co_await acceptor.async_accept(asio::redirect_error(asio::use_awaitable, failed));
    if (!failed) {
      refuses = false;
      welcome(std::move(socket));
      continue;
    }
    if (failed == asio::error::connection_aborted) continue;  // it has gone again
    if (failed == asio::error::operation_aborted) co_return;
    // Too few descriptors, or the like: asking again at once would spin.
    if (!std::exchange(refuses, true)) parts.log.warning("the API takes no connections", {{"why", failed.message()}});
    co_await wait_a_little();
  }
}

// Whoever waits the longest for nothing goes.
void Server::State::make_room() {
  std::shared_ptr<Connection> idlest;
  base::Millis longest{};
  for (const auto& weak : connections) {
    const auto connection = weak.lock();
    const auto idle = connection ? connection->idle_for() : std::nullopt;
    if (!idle || *idle < limits.settled || *idle <= longest) continue;
    longest = *idle;
    idlest = connection;
  }
  if (idlest) idlest->close();
}

void Server::State::welcome(tcp::socket socket) {
  error_code failed;
  const tcp::endpoint remote = socket.remote_endpoint(failed);
  if (failed) return;
  const tcp::endpoint local = socket.local_endpoint(failed);
  if (failed) return;
  socket.set_option(tcp::no_delay(true), failed);
  std::erase_if(connections, [](const auto& weak) { return weak.expired(); });
  if (roll.is_full()) make_room();
  Roll::Seat seat = roll.admit(remote.address());
  if (!seat) return;
  Stream stream(std::move(socket), tls ? &tls->context() : nullptr);
  Peer peer{remote.address(), local.address(), tls != nullptr};
  auto connection =
      std::make_shared<Connection>(std::move(stream), std::move(peer), std::move(seat), *answering, limits);
  connections.push_back(connection);
  tasks.spawn(run_connection(std::move(connection)));
}

void Server::State::begin_stop() {
  error_code ignored;
  for (tcp::acceptor& acceptor : acceptors) acceptor.close(ignored);
  feed->stop();
  for (const auto& weak : std::exchange(connections, {})) {
    if (const auto connection = weak.lock()) connection->close();
  }
  stop_timer.expires_after(kMostStop);
  stop_timer.async_wait([this](error_code cancelled) {
    if (!cancelled) io.stop();
  });
  asio::co_spawn(io, end(), asio::detached);
}

asio::awaitable<void> Server::State::end() {
  co_await tasks.stop();
  stop_timer.cancel();
  work.reset();
}

void Server::State::stop() {
  if (std::exchange(stopped, true)) return;
  if (thread.joinable()) {
    asio::post(io, [this] { begin_stop(); });
    thread.join();
  }
  home->leave();
  readers.stop();
}

Server::Server(std::unique_ptr<State> state) : state_(std::move(state)) {}
Server::~Server() = default;

base::Result<std::unique_ptr<Server>> Server::create(const ServerSettings& settings, const Parts& parts, Offer offer,
                                                     const Limits& limits) {
  auto state = std::make_unique<State>(settings, parts, std::move(offer), limits);
  if (auto opened = state->open(); !opened) return std::move(opened.error());
  return std::unique_ptr<Server>(new Server(std::move(state)));
}

void Server::start() { state_->start(); }
void Server::stop() { state_->stop(); }
void Server::publish(Happening happening) { state_->feed->publish(std::move(happening)); }
uint16_t Server::port() const { return state_->port; }

}  // namespace girdle::api
