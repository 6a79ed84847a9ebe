// A case in one line: what lists and the event feed tell of it.
#pragma once

#include <string>
#include <string_view>

#include "api/desk.h"
#include "base/result.h"
#include "ledger/ledger.h"

namespace girdle::api {

// As of its last outcome. Error: there is no such case, or the ledger cannot be read.
base::Result<std::string> case_line(Teller& teller, ledger::Number case_number);
base::Result<std::string> case_line(Teller& teller, const ledger::CaseLine& line);

std::string_view text(ledger::CaseState state);  // "open", "merged", "empty"

}  // namespace girdle::api
