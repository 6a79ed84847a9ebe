// The word that stands where a drafted configuration still waits for a person. Every check refuses
// it, as the value of whichever key.
#pragma once

#include <string_view>

namespace girdle::config {

inline constexpr std::string_view kFillIn = "FILL_IN";

}  // namespace girdle::config
