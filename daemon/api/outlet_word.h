// How an outlet stands, in a word.
#pragma once

#include <array>
#include <string_view>

#include "api/desk.h"

namespace girdle::api {

inline constexpr std::array<std::string_view, 4> kOutletWords = {"open", "paused", "closed", "resting"};

// What a person has to undo comes before what passes by itself.
inline std::string_view outlet_word(const OutletState& outlet) {
  if (outlet.closed) return "closed";
  if (outlet.paused) return "paused";
  return outlet.resting ? "resting" : "open";
}

}  // namespace girdle::api
