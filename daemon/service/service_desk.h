// What the API asks, answered: the desk between HTTP and the service.
#pragma once

#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <mutex>

#include "api/desk.h"
#include "base/clock.h"
#include "base/log.h"
#include "service/check.h"
#include "service/control.h"
#include "service/hand_reader.h"
#include "service/writer.h"

namespace girdle::service {

class ServiceDesk final : public api::Desk {
 public:
  struct Parts {
    Writer& writer;
    std::filesystem::path ledger;
    const base::Clock& clock;
    base::Log log;
    // Both from any thread, and called back from any, once.
    std::function<void(std::function<void(api::Standing)>)> standing;
    std::function<void(ControlRequest, Control::Done)> control;
    // From any thread: a document that was posted is durable, or was known.
    std::function<void(const std::string& intake, uint64_t bytes, bool known, uint64_t set_aside)> took;
  };
  // `lookups` is a ledger reader of the desk's own.
  ServiceDesk(Parts parts, std::unique_ptr<ledger::Ledger> lookups);

  // What is configured from now on; `version` is girdled's. Any thread.
  void adopt(const Checked& checked);
  // No deed is done after that; what is under way may still be called back.
  void stop() { reader_.stop(); }

  std::shared_ptr<const api::House> house() const override;
  base::Result<std::unique_ptr<api::Teller>> teller() override;
  void standing(std::function<void(api::Standing)> done) override { parts_.standing(std::move(done)); }
  void act(api::Deed deed, Done done) override;

 private:
  // What the configuration says of an intake, for who hands in a document.
  struct IntakeRules {
    bool takes_posts = false;
    uint64_t max_bytes = 0;
    bool is_growing = false;
  };
  struct Now {
    std::shared_ptr<const api::House> house;
    std::shared_ptr<const casework::House> rules;
    std::map<std::string, IntakeRules> intakes;
  };
  std::shared_ptr<const Now> now() const;

  void take(api::Take deed, Done done);
  void show(api::Preview deed, Done done);
  void try_again(const api::TryAgain& deed, Done done);
  void control(ControlRequest request, Done done);
  void bind(api::Bind deed, Done done);
  void decide(api::DecideByHand deed, Done done);
  std::string case_id(ledger::Number case_number);
  std::string outcome_json(ledger::Number case_number, int64_t sequence);
  bool is_known(const std::string& intake, const base::Digest& digest);

  struct Again;
  base::Result<std::shared_ptr<Again>> documents_of(const api::TryAgain& deed);
  base::Result<ledger::KeptDocument> kept_document(ledger::Number number);
  void read_next(const std::shared_ptr<Again>& again);
  void finish(const Again& again);

  Parts parts_;
  HandReader reader_;

  mutable std::mutex mutex_;  // of now_
  std::shared_ptr<const Now> now_;
  std::mutex lookups_mutex_;
  std::unique_ptr<ledger::Ledger> lookups_;
};

}  // namespace girdle::service
