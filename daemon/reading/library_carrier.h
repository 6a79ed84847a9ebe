// A reader whose library is loaded into this process. It is trusted: when it crashes or hangs, so
// does girdled.
#pragma once

#include "reading/carrier.h"
#include "reading/library.h"

namespace girdle::reading {

std::unique_ptr<Carriage> carry_in_process(Library library);

}  // namespace girdle::reading
