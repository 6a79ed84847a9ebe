#include "cli/open_ledger.h"

#include "config/load.h"
#include "service/house_builder.h"

namespace girdle::cli {

base::Result<OpenLedger> open_ledger(const std::filesystem::path& config) {
  config::Loaded loaded = config::load(config);
  if (loaded.settings.ledger.empty()) {
    return base::input_error(loaded.problems.empty() ? config.string() + " names no ledger"
                                                     : config::format(loaded.problems.front()));
  }
  auto ledger = ledger::Ledger::read(loaded.settings.ledger);
  if (!ledger) return ledger.error();
  OpenLedger open;
  open.ledger = std::move(ledger).value();
  std::vector<service::RuleProblem> problems;
  if (auto built = service::build_house(loaded.settings, problems)) open.house = built->house;
  open.settings = std::move(loaded.settings);
  return open;
}

}  // namespace girdle::cli
