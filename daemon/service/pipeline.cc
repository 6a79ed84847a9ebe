#include "service/pipeline.h"

#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <random>

#include "delivery/open_senders.h"
#include "intake/post_intake.h"

namespace girdle::service {
namespace {

namespace asio = boost::asio;

// A task that ends by an exception is a fault of the program; the service goes on without it, loudly.
base::TaskGroup::OnFault log_fault(const base::Log& log) {
  return [log](std::exception_ptr fault) {
    try {
      std::rethrow_exception(std::move(fault));
    } catch (const std::exception& failure) {
      log.error("a task ended by a fault of the program", {{"what", failure.what()}});
    } catch (...) {
      log.error("a task ended by a fault of the program");
    }
  };
}

asio::awaitable<void> pause(base::Millis duration) {
  asio::steady_timer timer(co_await asio::this_coro::executor, duration);
  co_await timer.async_wait(asio::use_awaitable);
}

}  // namespace

IntakeSide::IntakeSide(const Parts& parts)
    : parts_(parts), since_(parts.clock.now()), tasks_(parts.context.get_executor(), log_fault(parts.log)) {}

base::Result<std::unique_ptr<IntakeSide>> IntakeSide::create(const Checked& checked, const Parts& parts) {
  std::unique_ptr<IntakeSide> side(new IntakeSide(parts));
  const auto executor = parts.context.get_executor();
  for (size_t i = 0; i < checked.settings.intakes.size(); ++i) {
    const config::Intake& settings = checked.settings.intakes[i];
    side->sinks_.push_back(std::make_unique<IntakeSink>(settings.name, checked.readers[i], parts.writer, parts.lookups,
                                                        parts.room, executor, parts.log));
    auto made = intake::make_intake(settings, *side->sinks_.back(), parts.clock, parts.log, executor);
    if (!made) return made.error();
    side->intakes_.push_back(std::move(made).value());
    const bool brings_readings = settings.mapping.makes(model::RecordKind::kReading);
    const auto place = brings_readings ? side->once_order_.end() : side->once_order_.begin();
    side->once_order_.insert(place, side->intakes_.back().get());
  }
  return side;
}

void IntakeSide::start() {
  for (const auto& sink : sinks_) sink->warm_up();
  for (const auto& intake : intakes_) tasks_.spawn(intake->run());
}

asio::awaitable<void> IntakeSide::take_once() {
  for (intake::Intake* intake : once_order_) co_await intake->scan_once();
  co_await wait_for_dones(base::Millis::max());
}

asio::awaitable<void> IntakeSide::wait_for_dones(base::Millis patience) {
  for (base::Millis waited{0}; any_in_flight() && waited < patience; waited += base::Millis(2)) {
    co_await pause(base::Millis(2));
  }
}

asio::awaitable<void> IntakeSide::stop(base::Millis patience) {
  co_await tasks_.stop();
  co_await wait_for_dones(patience);
}

bool IntakeSide::any_in_flight() const {
  for (const auto& sink : sinks_) {
    if (sink->in_flight() > 0) return true;
  }
  return false;
}

uint64_t IntakeSide::set_aside() const {
  uint64_t count = 0;
  for (const auto& sink : sinks_) count += sink->set_aside_count();
  return count;
}

std::vector<api::IntakeState> IntakeSide::states() const {
  std::vector<api::IntakeState> states;
  for (size_t i = 0; i < intakes_.size(); ++i) {
    const intake::Status status = intakes_[i]->status();
    api::IntakeState& state = states.emplace_back();
    state.name = intakes_[i]->name();
    state.up = status.up;
    state.trouble = status.trouble;
    state.documents = status.documents;
    state.bytes = status.bytes;
    state.known = status.known;
    state.set_aside = status.set_aside + sinks_[i]->set_aside_count();
    state.abandoned = status.abandoned;
    state.failed = status.failed;
    state.in_flight = status.in_flight;
    state.last_at = status.last_at;
    state.since = since_;
  }
  return states;
}

void IntakeSide::took(std::string_view intake, uint64_t bytes, bool known, uint64_t set_aside) {
  for (const auto& one : intakes_) {
    auto* const post = one->name() == intake ? dynamic_cast<intake::PostIntake*>(one.get()) : nullptr;
    if (post != nullptr) post->took(bytes, known, set_aside, parts_.clock.now());
  }
}

DeliverySide::DeliverySide(const Parts& parts)
    : parts_(parts), since_(parts.clock.now()), tasks_(parts.context.get_executor(), log_fault(parts.log)) {}

base::Result<std::unique_ptr<DeliverySide>> DeliverySide::create(const Checked& checked, const Parts& parts,
                                                                 ledger::Ledger& lookups) {
  std::unique_ptr<DeliverySide> side(new DeliverySide(parts));
  const auto zone = base::Zone::find(checked.settings.timezone);
  if (!zone) return zone.error();
  std::random_device random;
  for (const config::Outlet& settings : checked.settings.outlets) {
    const ledger::Number number = lookups.find_outlet(settings.name).value_or(0);
    auto meters = std::make_shared<delivery::OutletMeters>();
    auto dispatcher = side->make_dispatcher(settings, number, *zone, random(), meters.get());
    if (!dispatcher) return dispatcher.error();
    side->stop_as_the_ledger_says(settings, number, lookups, **dispatcher);
    side->outlets_.push_back({settings.name, number, std::move(meters), std::move(dispatcher).value()});
  }
  return side;
}

base::Result<std::unique_ptr<delivery::Dispatcher>> DeliverySide::make_dispatcher(const config::Outlet& settings,
                                                                                  ledger::Number number,
                                                                                  const base::Zone& zone, uint64_t seed,
                                                                                  delivery::OutletMeters* meters) {
  const auto executor = parts_.context.get_executor();
  config::Problems problems;
  const std::string file;
  auto senders = delivery::open_senders(settings, {executor, parts_.resolver, parts_.clock, parts_.log, zone, parts_.site},
                                        config::Report(file, problems));
  // The configuration was checked: a secret or a certificate has changed since.
  if (!problems.empty()) return base::input_error("the outlet " + settings.name + ": " + problems.front().text);
  return std::make_unique<delivery::Dispatcher>(
      settings, number, delivery::Dispatcher::Surroundings{executor, parts_.outbox, parts_.clock, parts_.log, seed, meters},
      std::move(senders));
}

void DeliverySide::stop_as_the_ledger_says(const config::Outlet& settings, ledger::Number number, ledger::Ledger& lookups,
                                           delivery::Dispatcher& dispatcher) const {
  if (const std::string why = lookups.outlet_closed(number); !why.empty()) {
    parts_.log.warning("outlet is closed until a person opens it", {{"outlet", settings.name}, {"why", why}});
    dispatcher.close();
  }
  if (const std::string why = lookups.outlet_paused(number); !why.empty()) {
    parts_.log.info("outlet is paused", {{"outlet", settings.name}, {"why", why}});
    dispatcher.pause();
  }
}

delivery::Dispatcher* DeliverySide::find(ledger::Number outlet) {
  for (const Outlet& one : outlets_) {
    if (one.number == outlet) return one.dispatcher.get();
  }
  return nullptr;
}

void DeliverySide::start() {
  for (const Outlet& outlet : outlets_) tasks_.spawn(outlet.dispatcher->run());
}

void DeliverySide::hurry() {
  for (const Outlet& outlet : outlets_) outlet.dispatcher->hurry();
}

void DeliverySide::wake() {
  for (const Outlet& outlet : outlets_) outlet.dispatcher->wake();
}

void DeliverySide::pause(ledger::Number outlet) {
  if (auto* dispatcher = find(outlet)) dispatcher->pause();
}

void DeliverySide::open(ledger::Number outlet) {
  if (auto* dispatcher = find(outlet)) dispatcher->open();
}

void DeliverySide::offer(std::vector<model::Delivery> fresh) {
  for (const Outlet& outlet : outlets_) {
    std::vector<model::Delivery> own;
    for (model::Delivery& delivery : fresh) {
      if (delivery.outlet == outlet.number) own.push_back(std::move(delivery));
    }
    if (!own.empty()) outlet.dispatcher->offer(std::move(own));
  }
}

asio::awaitable<void> DeliverySide::stop() { co_await tasks_.stop(); }

bool DeliverySide::idle() const {
  for (const Outlet& outlet : outlets_) {
    if (!outlet.dispatcher->idle()) return false;
  }
  return true;
}

bool DeliverySide::any_failed() const {
  for (const Outlet& outlet : outlets_) {
    const auto counts = outlet.dispatcher->counts();
    if (counts.failed > 0 || counts.closed) return true;
  }
  return false;
}

std::vector<api::OutletState> DeliverySide::states() const {
  std::vector<api::OutletState> states;
  for (const Outlet& outlet : outlets_) {
    const delivery::Dispatcher::Counts counts = outlet.dispatcher->counts();
    api::OutletState& state = states.emplace_back();
    state.name = outlet.name;
    state.in_flight = counts.in_flight;
    state.in_memory = counts.in_memory;
    state.closed = counts.closed;
    state.paused = counts.paused;
    state.resting = counts.resting_until.has_value();
    state.attempts = counts.attempts;
    state.sent = counts.sent;
    state.failed = counts.failed;
    state.parked = counts.parked;
    state.since = since_;
    state.meters = outlet.meters;
  }
  return states;
}

DeliverySide::Counts DeliverySide::counts() const {
  Counts counts;
  for (const Outlet& outlet : outlets_) {
    counts.sent += outlet.dispatcher->counts().sent;
    counts.parked += outlet.dispatcher->counts().parked;
  }
  return counts;
}

}  // namespace girdle::service
