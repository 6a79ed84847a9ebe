// A service in the middle of its day, as /metrics sees it: everything that it can tell of is there. Invented.
#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <string>

#include "api/desk.h"
#include "api/meters.h"
#include "api/metrics.h"
#include "ledger/ledger.h"

namespace girdle::api {

// Has a ledger, and nothing else that routes would need.
class LedgerTeller final : public Teller {
 public:
  explicit LedgerTeller(std::unique_ptr<ledger::Ledger> ledger) : ledger_(std::move(ledger)) {}
  ledger::Ledger& ledger() override { return *ledger_; }
  base::Result<model::Outcome> outcome(ledger::Number, int64_t) override { return base::input_error("not here"); }
  base::Result<std::optional<std::string>> story(ledger::Number) override { return std::optional<std::string>(); }
  base::Result<std::optional<std::string>> story_of(const std::string&) override { return std::optional<std::string>(); }

 private:
  std::unique_ptr<ledger::Ledger> ledger_;
};

struct MetricsSample {
  // Makes a ledger in `folder`, which is there and empty.
  explicit MetricsSample(const std::filesystem::path& folder);
  std::string text() const { return metrics(house, standing, meters, *teller, now, server).body; }

  // Of the sample's day.
  static base::Instant at(const std::string& time);
  // A name with all that the format escapes.
  static constexpr const char* kAwkward = "a \"till\" \\ and\nmore";

  House house;
  Standing standing;
  Meters meters;
  std::optional<ServerState> server = ServerState{5, 2};
  std::unique_ptr<ledger::Ledger> ledger;  // the one that writes
  std::unique_ptr<LedgerTeller> teller;
  base::Instant now = at("18:00:00");
};

}  // namespace girdle::api
