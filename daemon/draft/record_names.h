// Names that a record of a measurement usually has, and names that are usually said once for many.
//
// Pure; any thread.
#pragma once

#include <string_view>

namespace girdle::draft {

// "result", "stock no", "measured at": a field of a record's own.
bool is_of_a_record(std::string_view name);
// "device", "operator", "date": may stand around the records.
bool may_be_shared(std::string_view name);

}  // namespace girdle::draft
