#include "cli/open_ledger.h"

#include "config/load.h"
#include "service/check.h"
#include "service/house_builder.h"

namespace girdle::cli {

namespace {

base::Error no_ledger(const std::filesystem::path& config, const config::Problems& problems) {
  return base::input_error(problems.empty() ? config.string() + " names no ledger" : config::format(problems.front()));
}

}  // namespace

base::Result<std::filesystem::path> ledger_path(const std::filesystem::path& config) {
  const config::Loaded loaded = config::load(config);
  if (loaded.settings.ledger.empty()) return no_ledger(config, loaded.problems);
  return loaded.settings.ledger;
}

base::Result<OpenLedger> open_ledger(const std::filesystem::path& config) {
  config::Loaded loaded = config::load(config);
  if (loaded.settings.ledger.empty()) {
    return no_ledger(config, loaded.problems);
  }
  auto ledger = ledger::Ledger::read(loaded.settings.ledger);
  if (!ledger) return ledger.error();
  OpenLedger open;
  open.ledger = std::move(ledger).value();
  open.shelf = std::make_unique<service::HouseShelf>(*open.ledger);
  service::choose_policy(loaded.settings, base::SystemClock().now());
  std::vector<service::RuleProblem> problems;
  if (auto rules = service::build_rules(loaded.settings, loaded.settings.policy, problems)) open.house = rules->house;
  open.settings = std::move(loaded.settings);
  return open;
}

}  // namespace girdle::cli
