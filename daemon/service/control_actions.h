// What a person asks for, done in the ledger: by the service's writer, or by the command line where no service runs.
#pragma once

#include "base/clock.h"
#include "base/result.h"
#include "service/control_request.h"

namespace girdle::service {

// Inside a transaction. An error is the ledger's: the transaction is to be rolled back. What cannot be done because there
// is no such outlet or delivery is refused, and nothing has changed then.
base::Result<ControlAnswer> carry_out(ledger::Ledger& ledger, const ControlRequest& request, base::Instant now);

// The same, with a transaction of its own.
base::Result<ControlAnswer> carry_out_alone(ledger::Ledger& ledger, const ControlRequest& request, base::Instant now);

}  // namespace girdle::service
