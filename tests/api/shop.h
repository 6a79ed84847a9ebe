// A shop with a few stones, in a real ledger, and a desk that says of whatever it is asked that it was done. Invented.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "api/desk.h"
#include "api/message.h"
#include "base/time.h"
#include "ledger/ledger.h"
#include "service/temp_ledger.h"

namespace girdle::api {

// Of the shop's moment: "2026-11-02T" and this.
inline base::Instant at(const std::string& time) { return *base::parse_rfc3339("2026-11-02T" + time + "Z"); }

// Reasons in words of its own; the real ones are casework's.
class ShopTeller final : public Teller {
 public:
  explicit ShopTeller(std::unique_ptr<ledger::Ledger> ledger) : ledger_(std::move(ledger)) {}

  ledger::Ledger& ledger() override { return *ledger_; }
  base::Result<model::Outcome> outcome(ledger::Number case_number, int64_t sequence) override;
  base::Result<std::optional<std::string>> story(ledger::Number case_number) override;
  base::Result<std::optional<std::string>> story_of(const std::string& key) override;

 private:
  std::unique_ptr<ledger::Ledger> ledger_;
};

// Answers at once, on the caller's thread.
class ShopDesk final : public Desk {
 public:
  ShopDesk(std::shared_ptr<const House> house, Standing standing, std::filesystem::path ledger)
      : house_(std::move(house)), standing_(std::move(standing)), ledger_(std::move(ledger)) {}

  std::shared_ptr<const House> house() const override { return house_; }
  base::Result<std::unique_ptr<Teller>> teller() override;
  void standing(std::function<void(Standing)> done) override { done(standing_); }
  void act(Deed deed, std::function<void(DeedAnswer)> done) override;

  std::vector<Deed> asked;           // what came, in order
  std::optional<DeedAnswer> answer;  // to all of it, in place of what a service would say of this shop

 private:
  std::shared_ptr<const House> house_;
  Standing standing_;
  std::filesystem::path ledger_;
};

// Has the numbers that schemas/openapi.yaml takes for its examples.
class Shop {
 public:
  Shop();
  ~Shop();

  ShopDesk& desk() { return *desk_; }
  Teller& teller() { return *teller_; }
  // The one that writes, for tests that need more.
  ledger::Ledger& ledger() { return *ledger_; }
  base::Instant now() const { return at("18:00:00"); }

  // As a server would: the route is found, its standing asked for, its deed done.
  Response ask(const Request& request);

 private:
  TempLedger temp_;
  std::unique_ptr<ledger::Ledger> ledger_;
  std::unique_ptr<ShopDesk> desk_;
  std::unique_ptr<Teller> teller_;
};

// A GET of "/api/v1/cases?q=R10&limit=2"; nothing is decoded but %23.
Request get(const std::string& address);
Request post(const std::string& address, const std::string& body, const std::string& content_type = "application/json");

}  // namespace girdle::api
