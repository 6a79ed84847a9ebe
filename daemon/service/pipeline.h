// What a configuration asks to run: intakes with their sinks, dispatchers with their outlets. Built from a checked
// configuration, replaced as a whole when the configuration is read anew.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <boost/asio/io_context.hpp>
#include <memory>
#include <vector>

#include "api/desk.h"
#include "base/clock.h"
#include "base/log.h"
#include "base/result.h"
#include "base/task_group.h"
#include "base/time.h"
#include "delivery/dispatcher.h"
#include "delivery/resolver.h"
#include "intake/intake.h"
#include "service/check.h"
#include "service/intake_sink.h"
#include "service/ledger_outbox.h"
#include "service/writer.h"

namespace girdle::service {

// The intakes. On the intake thread.
class IntakeSide {
 public:
  struct Parts {
    boost::asio::io_context& context;
    Writer& writer;
    ledger::Ledger& lookups;
    Room& room;
    base::Clock& clock;
    base::Log log;
  };
  static base::Result<std::unique_ptr<IntakeSide>> create(const Checked& checked, const Parts& parts);

  void start();
  // Takes in what is there; returns when all of it is durable.
  boost::asio::awaitable<void> take_once();
  // Stops the intakes; returns when every Done has come, or `patience` has passed (a disk that refuses).
  boost::asio::awaitable<void> stop(base::Millis patience);
  bool any_in_flight() const;
  uint64_t set_aside() const;
  std::vector<api::IntakeState> states() const;
  // A document that was posted is durable, or was known. Nothing where the intake is gone.
  void took(std::string_view intake, uint64_t bytes, bool known, uint64_t set_aside);

 private:
  explicit IntakeSide(const Parts& parts);
  boost::asio::awaitable<void> wait_for_dones(base::Millis patience);

  Parts parts_;
  base::Instant since_;
  base::TaskGroup tasks_;
  std::vector<std::unique_ptr<IntakeSink>> sinks_;
  std::vector<std::unique_ptr<intake::Intake>> intakes_;  // go before their sinks
  // Of intakes_: those that bring no readings stand first, so that with `once` a stone is known before it is decided.
  std::vector<intake::Intake*> once_order_;
};

// The outlets. On the delivery thread, but for create().
class DeliverySide {
 public:
  struct Parts {
    boost::asio::io_context& context;
    Writer& writer;
    LedgerOutbox& outbox;
    delivery::Resolver& resolver;
    base::Clock& clock;
    base::Log log;
    std::string site;
  };
  // `lookups` finds the outlets' numbers: the writer has adopted the configuration.
  static base::Result<std::unique_ptr<DeliverySide>> create(const Checked& checked, const Parts& parts,
                                                            ledger::Ledger& lookups);

  void start();
  void offer(std::vector<model::Delivery> fresh);
  // Batches wait no longer: nothing more is to come.
  void hurry();
  // What a person did to the outlet, or to deliveries: the ledger says so already.
  void pause(ledger::Number outlet);
  void open(ledger::Number outlet);
  void wake();
  boost::asio::awaitable<void> stop();
  bool idle() const;
  // Some attempt failed, or an outlet is closed.
  bool any_failed() const;
  struct Counts {
    int64_t sent = 0, parked = 0;  // since these outlets were made
  };
  Counts counts() const;
  std::vector<api::OutletState> states() const;

 private:
  explicit DeliverySide(const Parts& parts);
  base::Result<std::unique_ptr<delivery::Dispatcher>> make_dispatcher(const config::Outlet& settings, ledger::Number number,
                                                                      const base::Zone& zone, uint64_t seed,
                                                                      delivery::OutletMeters* meters);
  void stop_as_the_ledger_says(const config::Outlet& settings, ledger::Number number, ledger::Ledger& lookups,
                               delivery::Dispatcher& dispatcher) const;
  delivery::Dispatcher* find(ledger::Number outlet);

  struct Outlet {
    std::string name;
    ledger::Number number = 0;
    std::shared_ptr<delivery::OutletMeters> meters;  // outlive the dispatcher
    std::unique_ptr<delivery::Dispatcher> dispatcher;
  };
  Parts parts_;
  base::Instant since_;
  base::TaskGroup tasks_;
  std::vector<Outlet> outlets_;
};

}  // namespace girdle::service
