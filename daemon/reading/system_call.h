// The name of a system call by this machine's number, for a reason that a person reads. Those are
// known that a reader is likely to try; of others it is "number 123".
#pragma once

#include <cstdint>
#include <string>

namespace girdle::reading {

std::string name_of_system_call(uint32_t number);

}  // namespace girdle::reading
