#include "service/pipeline.h"

#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <random>

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

IntakeSide::IntakeSide(const Parts& parts) : parts_(parts), tasks_(parts.context.get_executor(), log_fault(parts.log)) {}

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

DeliverySide::DeliverySide(const Parts& parts)
    : parts_(parts), tasks_(parts.context.get_executor(), log_fault(parts.log)) {}

base::Result<std::unique_ptr<DeliverySide>> DeliverySide::create(const Checked& checked, const Parts& parts,
                                                                 ledger::Ledger& lookups) {
  std::unique_ptr<DeliverySide> side(new DeliverySide(parts));
  std::random_device random;
  for (const config::Outlet& settings : checked.settings.outlets) {
    Outlet outlet;
    outlet.number = lookups.find_outlet(settings.name).value_or(0);
    const std::string closed = lookups.outlet_closed(outlet.number);
    if (!closed.empty()) {
      parts.log.warning("outlet is closed until a person opens it", {{"outlet", settings.name}, {"why", closed}});
    } else {
      auto made = delivery::Dispatcher::create(
          settings, outlet.number,
          {parts.context.get_executor(), parts.outbox, parts.resolver, parts.clock, parts.log, random()});
      if (!made) return made.error();
      outlet.dispatcher = std::move(made).value();
    }
    side->outlets_.push_back(std::move(outlet));
  }
  return side;
}

void DeliverySide::start() {
  for (const Outlet& outlet : outlets_) {
    if (outlet.dispatcher) tasks_.spawn(outlet.dispatcher->run());
  }
}

void DeliverySide::offer(std::vector<model::Delivery> fresh) {
  for (const Outlet& outlet : outlets_) {
    if (!outlet.dispatcher) continue;
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
    if (outlet.dispatcher && !outlet.dispatcher->idle()) return false;
  }
  return true;
}

bool DeliverySide::any_failed() const {
  for (const Outlet& outlet : outlets_) {
    if (!outlet.dispatcher || outlet.dispatcher->counts().failed > 0 || outlet.dispatcher->counts().closed) return true;
  }
  return false;
}

DeliverySide::Counts DeliverySide::counts() const {
  Counts counts;
  for (const Outlet& outlet : outlets_) {
    if (!outlet.dispatcher) continue;
    counts.sent += outlet.dispatcher->counts().sent;
    counts.parked += outlet.dispatcher->counts().parked;
  }
  return counts;
}

}  // namespace girdle::service
