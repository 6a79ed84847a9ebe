#include "base/result.h"

#include <system_error>

namespace girdle::base {

std::string errno_text(int number) { return std::generic_category().message(number); }

}  // namespace girdle::base
