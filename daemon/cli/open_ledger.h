// The ledger of a configuration, open for reading, with what is needed to show it.
#pragma once

#include <filesystem>
#include <memory>

#include "base/result.h"
#include "casework/house.h"
#include "config/settings.h"
#include "ledger/ledger.h"
#include "service/house_shelf.h"
#include "service/story.h"

namespace girdle::cli {

struct OpenLedger {
  config::Settings settings;
  std::unique_ptr<ledger::Ledger> ledger;
  std::unique_ptr<service::HouseShelf> shelf;    // of the rules that decided
  std::shared_ptr<const casework::House> house;  // in force; null where the configuration's rules are wrong

  // Lives no longer than this.
  service::StorySource story_source() const { return {*ledger, *shelf, house.get(), settings.site}; }
};

// Where it is; the rest of the configuration need not be right, nor the ledger be there.
base::Result<std::filesystem::path> ledger_path(const std::filesystem::path& config);

// Only what it needs of the configuration has to be right: where the ledger is.
base::Result<OpenLedger> open_ledger(const std::filesystem::path& config);

}  // namespace girdle::cli
