// What a list's options ask of the ledger.
#pragma once

#include "base/result.h"
#include "cli/commands.h"
#include "ledger/ledger.h"

namespace girdle::cli {

// The error: a time that is none.
base::Result<ledger::Filter> filter_of(const ListOptions& options);

}  // namespace girdle::cli
