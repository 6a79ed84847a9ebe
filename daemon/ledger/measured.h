// The measurements of an outcome as bytes: column `measured` of table `outcome`. schemas/ledger.md has the form.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "ledger/ledger.h"

namespace girdle::ledger {

// Numbers of readings are positive; a second one may be 0.
std::string pack_measured(const std::vector<Measured>& measured);

// Nothing where the bytes are none that pack_measured() gives.
std::optional<std::vector<Measured>> unpack_measured(std::string_view bytes);

}  // namespace girdle::ledger
