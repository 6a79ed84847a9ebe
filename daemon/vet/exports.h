// What a shared library (ELF, 64 bits) exports, read from its file: no code of it is loaded.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace girdle::vet {

// The names, in their order in the alphabet. Errors: no such file, or no such library.
base::Result<std::vector<std::string>> exported_names(const std::string& library);

// Of the bytes of such a file, whatever they are.
base::Result<std::vector<std::string>> exported_names_in(std::string_view bytes);

}  // namespace girdle::vet
