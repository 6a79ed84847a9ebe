// Whether the first row of a table names its columns.
//
// Pure; any thread.
#pragma once

#include <string>

#include "draft/delimited_rows.h"

namespace girdle::draft {

enum class HeaderLook { kYes, kNo, kUndecided };
struct HeaderFinding {
  HeaderLook look = HeaderLook::kUndecided;
  std::string evidence;
};
HeaderFinding look_at_header(const RowShape& shape);

}  // namespace girdle::draft
