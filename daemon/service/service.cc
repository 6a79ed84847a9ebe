#include "service/service.h"

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/asio/use_future.hpp>
#include <csignal>
#include <future>
#include <mutex>
#include <thread>

#include "api/server.h"
#include "service/control.h"
#include "service/control_actions.h"
#include "service/pipeline.h"
#include "service/service_desk.h"

namespace girdle::service {
namespace {

namespace asio = boost::asio;
using base::Millis;
using base::Result;

constexpr Millis kFoldEvery = std::chrono::minutes(10);
constexpr Millis kFoldAgain{200};      // while more is left
constexpr int64_t kFoldedAtOnce = 500;  // attempts in one transaction
constexpr Millis kStopPatience{1000};  // for commits that the disk refuses, when the service stops

class Service {
 public:
  Service(Checked checked, const RunOptions& options, base::Clock& clock, const base::Log& log)
      : checked_(std::move(checked)), options_(options), clock_(clock), log_(log) {}

  Result<int> run();

 private:
  Result<void> open();
  Result<void> adopt(const Checked& checked);
  Result<void> build(const Checked& checked);
  asio::awaitable<void> supervise();
  asio::awaitable<void> work_once();
  asio::awaitable<void> wait_for_signals();
  asio::awaitable<bool> reload();
  asio::awaitable<std::optional<Checked>> check_beside();
  asio::awaitable<void> start_delivery();
  asio::awaitable<void> stop_delivery();
  void await_next_policy();
  void fold_attempts_after(Millis wait);
  void open_control();
  Result<void> open_desk();
  void follow_instruments(const config::Settings& settings);
  Result<void> open_server(const config::Api& settings);
  static api::ServerSettings server_settings(const config::Api& api);
  void close_server();
  void follow_api();
  void tell_standing(std::function<void(api::Standing)> done);
  void act_on(ControlRequest request, Control::Done done);
  void tell_outlets(const ControlRequest& request, ledger::Number outlet);
  void close();
  void tell_what_came() const;
  template <class Ask>
  auto on_delivery_thread(Ask ask);

  Checked checked_;
  RunOptions options_;
  base::Clock& clock_;
  base::Log log_;
  int exit_code_ = 0;
  DeliverySide::Counts delivered_;  // known when the outlets have stopped

  asio::io_context intake_context_{1}, delivery_context_{1};
  asio::executor_work_guard<asio::io_context::executor_type> delivery_work_{delivery_context_.get_executor()};
  asio::signal_set signals_{intake_context_};
  std::unique_ptr<ledger::Ledger> lookups_;  // of the intake thread
  std::unique_ptr<Writer> writer_;
  std::unique_ptr<Room> room_;
  std::unique_ptr<LedgerOutbox> outbox_;
  std::unique_ptr<delivery::Resolver> resolver_;
  std::unique_ptr<Control> control_;  // of a service that stays; null with `once`, like the next two
  api::Meters meters_;
  std::atomic<bool> heard_{false};  // somebody listens to the server's events
  std::unique_ptr<ServiceDesk> desk_;
  std::mutex server_mutex_;
  std::unique_ptr<api::Server> server_;  // null where none is configured
  api::ServerSettings served_;
  std::unique_ptr<IntakeSide> intakes_;
  std::unique_ptr<DeliverySide> new_outlets_;  // made, and not yet handed to the delivery thread
  std::unique_ptr<DeliverySide> outlets_;      // of the delivery thread
  std::thread delivery_thread_;
  asio::steady_timer next_policy_{intake_context_};
  asio::steady_timer fold_{intake_context_};
};

// Beast can throw out of its handlers on hostile answers; such an exception costs its connection, not the thread.
void run_guarded(asio::io_context& context, const base::Log& log) {
  for (;;) {
    try {
      context.run();
      return;
    } catch (const std::exception& failure) {
      log.error("an operation failed by an exception", {{"what", failure.what()}});
    }
  }
}

Result<void> Service::open() {
  const std::filesystem::path& path = checked_.settings.ledger;
  std::error_code failed;
  std::filesystem::create_directories(path.parent_path(), failed);
  auto ledger = ledger::Ledger::open(path);
  if (!ledger) return ledger.error();
  Writer::Hooks hooks;
  hooks.on_fresh = [this](std::vector<model::Delivery> fresh) {
    asio::post(delivery_context_, [this, fresh = std::move(fresh)]() mutable {
      if (outlets_) outlets_->offer(std::move(fresh));
    });
  };
  hooks.on_room = [this] { asio::post(intake_context_, [this] { room_->notify(); }); };
  hooks.meters = &meters_;
  hooks.listened = &heard_;
  hooks.on_committed = [this](const api::Happening& happening) {
    const std::lock_guard lock(server_mutex_);
    if (server_) server_->publish(happening);
  };
  hooks.on_fault = [this](const base::Error& error) {
    asio::post(intake_context_, [this, fault = error.fault] {
      exit_code_ = fault == base::Fault::kEnvironment ? 3 : 1;
      signals_.cancel();
    });
  };
  meters_.started = clock_.now();
  follow_instruments(checked_.settings);
  writer_ = std::make_unique<Writer>(std::move(ledger).value(), clock_, log_, checked_.settings.site, std::move(hooks));
  room_ = std::make_unique<Room>(intake_context_.get_executor(), *writer_);
  resolver_ = std::make_unique<delivery::Resolver>(delivery_context_.get_executor());

  auto intake_lookups = ledger::Ledger::read(path);
  if (!intake_lookups) return intake_lookups.error();
  lookups_ = std::move(intake_lookups).value();
  auto of_loads = ledger::Ledger::read(path);
  if (!of_loads) return of_loads.error();
  auto of_questions = ledger::Ledger::read(path);
  if (!of_questions) return of_questions.error();
  outbox_ = std::make_unique<LedgerOutbox>(
      *writer_, LedgerOutbox::Readers{std::move(of_loads).value(), std::move(of_questions).value()}, clock_,
      checked_.settings.site, delivery_context_.get_executor(), log_);
  writer_->start();
  return {};
}

void Service::follow_instruments(const config::Settings& settings) {
  std::vector<std::string> serials;
  for (const config::Instrument& instrument : settings.instruments) serials.push_back(instrument.serial);
  meters_.instruments.adopt(serials);
}

// The rules and outlets go into the ledger before anything that is decided by them.
Result<void> Service::adopt(const Checked& checked) {
  std::vector<std::string> names;
  for (const config::Outlet& outlet : checked.settings.outlets) names.push_back(outlet.name);
  // Shared: who waits may be gone before who tells has come back from telling.
  const auto adopted = std::make_shared<std::promise<bool>>();
  writer_->adopt({*checked.rules, checked.shadow, std::move(names)},
                 [adopted](bool committed) { adopted->set_value(committed); });
  if (!adopted->get_future().get()) return base::environment_error("the ledger does not take the configuration");
  return {};
}

Result<void> Service::build(const Checked& checked) {
  auto outlets = DeliverySide::create(
      checked, {delivery_context_, *writer_, *outbox_, *resolver_, clock_, log_, checked.settings.site}, *lookups_);
  if (!outlets) return outlets.error();
  auto intakes = IntakeSide::create(checked, {intake_context_, *writer_, *lookups_, *room_, clock_, log_});
  if (!intakes) return intakes.error();
  new_outlets_ = std::move(outlets).value();
  intakes_ = std::move(intakes).value();
  return {};
}

template <class Ask>
auto Service::on_delivery_thread(Ask ask) {
  return asio::co_spawn(
      delivery_context_, [](Ask question) -> asio::awaitable<decltype(question())> { co_return question(); }(std::move(ask)),
      asio::use_awaitable);
}

asio::awaitable<void> Service::work_once() {
  co_await intakes_->take_once();
  co_await on_delivery_thread([this] {
    outlets_->hurry();
    return true;
  });
  asio::steady_timer timer(intake_context_);
  for (;;) {
    const bool idle = co_await on_delivery_thread([this] { return outlets_->idle(); });
    if ((idle && writer_->idle()) || exit_code_ != 0) break;
    timer.expires_after(Millis(5));
    co_await timer.async_wait(asio::use_awaitable);
  }
  const bool failed = co_await on_delivery_thread([this] { return outlets_->any_failed(); });
  if (failed || intakes_->set_aside() > 0) exit_code_ = 1;
}

asio::awaitable<void> Service::wait_for_signals() {
  for (;;) {
    boost::system::error_code ended;
    const int signal = co_await signals_.async_wait(asio::redirect_error(asio::use_awaitable, ended));
    if (ended) co_return;
    if (signal != SIGHUP) {
      log_.info("stopping", {{"signal", signal}});
      co_return;
    }
    const bool goes_on = co_await reload();
    if (!goes_on) co_return;
  }
}

// The delivery thread looks for the outlets whenever something is posted to them, so only it may put them there.
asio::awaitable<void> Service::start_delivery() {
  co_await on_delivery_thread([this] {
    outlets_ = std::move(new_outlets_);
    outlets_->start();
    return true;
  });
}

asio::awaitable<void> Service::stop_delivery() {
  co_await asio::co_spawn(delivery_context_, outlets_->stop(), asio::use_awaitable);
}

// On a thread of its own: the readers are tried, and one that hangs then must not keep the intakes from their work, nor
// the service from stopping. Nothing when it is to stop.
asio::awaitable<std::optional<Checked>> Service::check_beside() {
  for (bool again = true; again;) {
    again = false;
    std::optional<Checked> fresh;
    const auto ready = std::make_shared<bool>(false);
    std::jthread checking([this, &fresh, ready](std::stop_token stop) {
      fresh = check(options_.config_file, clock_.now(), std::move(stop));
      asio::post(intake_context_, [this, ready] {
        *ready = true;
        signals_.cancel();  // ends the wait below
      });
    });
    while (!*ready) {
      boost::system::error_code ended;
      const int signal = co_await signals_.async_wait(asio::redirect_error(asio::use_awaitable, ended));
      if (!ended && signal == SIGHUP) {
        again = true;  // what was read may be older than what it was changed to
      } else if (!ended || !*ready) {
        if (!ended) log_.info("stopping", {{"signal", signal}});
        checking.request_stop();
        checking.join();
        co_return std::nullopt;
      }
    }
    checking.join();
    if (!again) co_return fresh;
  }
}

// When the next policy's time comes, the configuration is read anew, as if a person had asked for it. Looked at every
// minute, as the wall clock may be set meanwhile.
void Service::await_next_policy() {
  next_policy_.cancel();
  if (!checked_.settings.next_policy || !checked_.settings.next_policy->valid_from) return;
  const base::Instant due = *checked_.settings.next_policy->valid_from;
  next_policy_.expires_after(std::clamp(due - clock_.now(), Millis(1), Millis(60'000)));
  next_policy_.async_wait([this, due](boost::system::error_code cancelled) {
    if (cancelled) return;
    if (clock_.now() < due) return await_next_policy();
    log_.info("the next policy's time has come", {{"policy", checked_.settings.next_policy->name}});
    std::raise(SIGHUP);
  });
}

// Attempts that are old enough become counts, a few at a time, so that nobody waits for it.
void Service::fold_attempts_after(Millis wait) {
  fold_.expires_after(wait);
  fold_.async_wait([this](boost::system::error_code cancelled) {
    if (cancelled) return;
    const auto folded = std::make_shared<int64_t>(0);
    const base::Instant until = clock_.now() - checked_.settings.keep_attempts;
    writer_->act(
        [folded, until](ledger::Ledger& ledger) -> Result<void> {
          auto count = ledger.fold_attempts(until, kFoldedAtOnce);
          if (!count) return count.error();
          *folded = *count;
          return {};
        },
        [this, folded](bool committed) {
          if (!committed) return;
          asio::post(intake_context_, [this, more = *folded == kFoldedAtOnce] {
            fold_attempts_after(more ? kFoldAgain : kFoldEvery);
          });
        });
  });
}

// Each side is asked on its own thread.
void Service::tell_standing(std::function<void(api::Standing)> done) {
  asio::post(intake_context_, [this, done = std::move(done)]() mutable {
    api::Standing standing;
    if (intakes_) standing.intakes = intakes_->states();
    standing.writer = writer_->standing();
    asio::post(delivery_context_, [this, standing = std::move(standing), done = std::move(done)]() mutable {
      if (outlets_) standing.outlets = outlets_->states();
      done(std::move(standing));
    });
  });
}

Result<void> Service::open_desk() {
  auto lookups = ledger::Ledger::read(checked_.settings.ledger);
  if (!lookups) return lookups.error();
  ServiceDesk::Parts parts{
      *writer_,
      checked_.settings.ledger,
      clock_,
      log_,
      [this](std::function<void(api::Standing)> done) { tell_standing(std::move(done)); },
      [this](ControlRequest request, Control::Done done) { act_on(std::move(request), std::move(done)); },
      [this](const std::string& intake, uint64_t bytes, bool known, uint64_t set_aside) {
        asio::post(intake_context_, [this, intake, bytes, known, set_aside] {
          if (intakes_) intakes_->took(intake, bytes, known, set_aside);
        });
      }};
  desk_ = std::make_unique<ServiceDesk>(std::move(parts), std::move(lookups).value());
  desk_->adopt(checked_);
  return open_server(checked_.settings.api);
}

api::ServerSettings Service::server_settings(const config::Api& api) {
  return {api.host, api.port, api.certificate_file, api.key.path, api.hosts};
}

Result<void> Service::open_server(const config::Api& settings) {
  if (settings.host.empty()) return {};
  served_ = server_settings(settings);
  auto server = api::Server::create(served_, {*desk_, meters_, heard_, clock_, log_});
  if (!server) return server.error();
  (*server)->start();
  const std::lock_guard lock(server_mutex_);
  server_ = std::move(server).value();
  return {};
}

// The server stays where nothing of it has changed, and with it who is signed in. With TLS it is made anew all the same:
// the certificate's file may have a new certificate in it.
void Service::follow_api() {
  follow_instruments(checked_.settings);
  desk_->adopt(checked_);
  const api::ServerSettings settings = server_settings(checked_.settings.api);
  if (server_ && settings == served_ && settings.certificate_file.empty()) return;
  close_server();
  if (auto done = open_server(checked_.settings.api); !done) {
    log_.error("the API and the console are not served any more", {{"why", done.error().text}});
  }
}

void Service::close_server() {
  std::unique_ptr<api::Server> server;
  {
    const std::lock_guard lock(server_mutex_);
    server = std::move(server_);
  }
  if (server) server->stop();
}

// Nothing of the service's own work hangs on it.
void Service::open_control() {
  auto control = Control::open(
      intake_context_.get_executor(), checked_.settings.ledger,
      [this](ControlRequest request, Control::Done done) { act_on(std::move(request), std::move(done)); }, log_);
  if (control) {
    control_ = std::move(control).value();
  } else {
    log_.warning("no control socket; resend, pause and resume want the service stopped", {{"why", control.error().text}});
  }
}

void Service::act_on(ControlRequest request, Control::Done done) {
  struct Deed {
    ControlRequest request;
    ControlAnswer answer;
    ledger::Number outlet = 0;  // that it names
  };
  const auto deed = std::make_shared<Deed>(Deed{std::move(request), {}, 0});
  writer_->act(
      [this, deed](ledger::Ledger& ledger) -> Result<void> {
        auto answer = carry_out(ledger, deed->request, clock_.now());
        if (!answer) return answer.error();
        deed->answer = std::move(answer).value();
        const std::string* const name = named_outlet(deed->request);
        if (name != nullptr) deed->outlet = ledger.find_outlet(*name).value_or(0);
        return {};
      },
      [this, deed, done = std::move(done)](bool committed) {
        if (!committed) return done(base::environment_error("the service ended before the disk had it"));
        if (deed->answer.refused.empty()) tell_outlets(deed->request, deed->outlet);
        done(std::move(deed->answer));
      });
}

// What the ledger says already.
void Service::tell_outlets(const ControlRequest& request, ledger::Number outlet) {
  enum class Deed { kWake, kPause, kOpen };
  const Deed deed = std::holds_alternative<PauseRequest>(request)    ? Deed::kPause
                    : std::holds_alternative<ResumeRequest>(request) ? Deed::kOpen
                                                                     : Deed::kWake;
  asio::post(delivery_context_, [this, deed, outlet] {
    if (!outlets_) return;
    if (deed == Deed::kWake) outlets_->wake();
    if (deed == Deed::kPause) outlets_->pause(outlet);
    if (deed == Deed::kOpen) outlets_->open(outlet);
  });
}

// False when the service is to stop.
asio::awaitable<bool> Service::reload() {
  std::optional<Checked> checked = co_await check_beside();
  if (!checked) co_return false;
  Checked fresh = std::move(*checked);
  if (fresh.ok() && fresh.settings.ledger != checked_.settings.ledger) {
    fresh.problems.push_back({fresh.settings.file.string(), {}, "the ledger cannot move while girdled runs; restart it"});
  }
  if (fresh.ok() && fresh.settings.site != checked_.settings.site) {
    fresh.problems.push_back({fresh.settings.file.string(), {}, "the site cannot change while girdled runs; restart it"});
  }
  if (!fresh.ok()) {
    for (const config::Problem& problem : fresh.problems) log_.error("configuration", {{"problem", config::format(problem)}});
    log_.error("the configuration is wrong; the old one stays in force");
    co_return true;
  }
  co_await intakes_->stop(Millis::max());
  co_await stop_delivery();
  // The old sides are out of use on both threads; what is posted to the outlets asks whether there are any.
  co_await on_delivery_thread([this] {
    outlets_.reset();
    return true;
  });
  intakes_.reset();
  log_.set_level(fresh.settings.log_level);
  if (auto done = adopt(fresh); !done) {
    log_.error("reload failed", {{"why", done.error().text}});
    exit_code_ = 3;
    co_return false;
  }
  if (auto done = build(fresh); !done) {
    log_.error("reload failed", {{"why", done.error().text}});
    exit_code_ = 3;
    co_return false;
  }
  checked_ = std::move(fresh);
  intakes_->start();
  co_await start_delivery();
  await_next_policy();
  follow_api();
  log_.info("configuration read anew", {{"file", options_.config_file.string()}});
  co_return true;
}

asio::awaitable<void> Service::supervise() {
  co_await start_delivery();
  if (options_.once) {
    co_await work_once();
  } else {
    intakes_->start();
    if (control_) control_->start();
    await_next_policy();
    fold_attempts_after(kFoldEvery);
    log_.info("ready", {{"site", checked_.settings.site},
                        {"ledger", checked_.settings.ledger.string()},
                        {"intakes", checked_.settings.intakes.size()},
                        {"outlets", checked_.settings.outlets.size()}});
    co_await wait_for_signals();
  }
  if (control_) co_await control_->stop();
  close_server();
  if (desk_) desk_->stop();
  if (intakes_) co_await intakes_->stop(kStopPatience);
  if (outlets_) {
    co_await stop_delivery();
    const DeliverySide::Counts counts = co_await on_delivery_thread([this] { return outlets_->counts(); });
    delivered_ = counts;
  }
  next_policy_.cancel();
  fold_.cancel();
  signals_.cancel();
}

// Everything that was posted is told before what it points to goes.
void Service::close() {
  writer_->stop();
  delivery_work_.reset();
  // Not waited for: an idle connection's timer may have half a minute to go.
  asio::post(delivery_context_, [this] {
    outlets_.reset();
    delivery_context_.stop();
  });
  if (delivery_thread_.joinable()) delivery_thread_.join();
  intake_context_.restart();
  intake_context_.poll();
  intakes_.reset();
}

// The last line of `run --once`, when nobody writes any more.
void Service::tell_what_came() const {
  const Recorder::Counts& came = writer_->counts();
  const auto waiting = lookups_->count_waiting();
  log_.info("came in", {{"readings", came.readings},
                        {"duplicates", came.duplicates},
                        {"corrections", came.corrections},
                        {"declarations", came.declarations},
                        {"duplicate_declarations", came.duplicate_declarations},
                        {"scans", came.scans},
                        {"set_aside", came.asides},
                        {"ignored", came.ignored},
                        {"outcomes", came.outcomes},
                        {"sent", delivered_.sent},
                        {"parked", delivered_.parked},
                        {"waiting", waiting ? std::to_string(*waiting) : "unknown"}});
}

Result<int> Service::run() {
  if (auto done = open(); !done) return done.error();
  auto ready = adopt(checked_);
  if (ready) ready = build(checked_);
  if (ready && !options_.once) ready = open_desk();
  if (ready && !options_.once) open_control();
  if (!ready) {
    close_server();
    if (desk_) desk_->stop();
    writer_->stop();
    return ready.error();
  }
  if (!options_.once) {
    for (const int signal : {SIGTERM, SIGINT, SIGHUP}) signals_.add(signal);
  }
  std::signal(SIGPIPE, SIG_IGN);
  delivery_thread_ = std::thread([this] { run_guarded(delivery_context_, log_); });
  asio::co_spawn(intake_context_, supervise(), [this](std::exception_ptr fault) {
    if (!fault) return;
    try {
      std::rethrow_exception(std::move(fault));
    } catch (const std::exception& failure) {
      log_.error("the service ended by a fault of the program", {{"what", failure.what()}});
      exit_code_ = 3;
    }
  });
  run_guarded(intake_context_, log_);
  close();
  if (options_.once) tell_what_came();
  return exit_code_;
}

}  // namespace

Result<int> run(Checked checked, const RunOptions& options, base::Clock& clock, const base::Log& log) {
  return Service(std::move(checked), options, clock, log).run();
}

}  // namespace girdle::service
