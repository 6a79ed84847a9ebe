// What several records were set aside for, where their reasons differ by what stood in them.
#pragma once

#include <string>
#include <string_view>

namespace girdle::api {

// The reason with what varies taken out: quoted texts and numbers, with "…" in their place. The names of columns stay,
// which are the mapping's and say where the fault is: column "temp" holds "…", which is no number.
std::string cause_of(std::string_view reason);

}  // namespace girdle::api
