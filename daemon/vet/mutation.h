// Samples changed as transmission, disks and people change them, and worse.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "vet/sample.h"

namespace girdle::vet {

// Change `number` of a sample: the same at every call. At most 32 KiB or so.
std::string changed(const std::vector<Sample>& samples, size_t index, uint64_t number);

}  // namespace girdle::vet
