// What a person asks of the ledger, whether a service has it open or not.
#pragma once

#include <filesystem>
#include <string>

#include "base/result.h"
#include "service/control_request.h"

namespace girdle::cli {

// The service does it where one runs; else it is done here. Returns once it is durable. What is refused is an error.
base::Result<service::ControlAnswer> ask_or_do(const std::filesystem::path& ledger, const service::ControlRequest& request);

// The person who calls, for what is kept: the user's name.
std::string caller();

}  // namespace girdle::cli
