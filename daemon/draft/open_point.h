// What a draft leaves to a person: a value that the configuration refuses until it is filled in,
// and what there is to choose from.
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "config/open_mark.h"

namespace girdle::draft {

using config::kFillIn;

// A key's value as it is written, or what may be written in place of FILL_IN.
struct Setting {
  std::string name;
  std::string value;                    // kFillIn where it is open
  std::vector<std::string> candidates;  // of an open one: likelier first
  std::string evidence;                 // as a comment says it
  bool is_open() const { return value == kFillIn; }
  // The value, or of an open one the likeliest: what the draft is tried with.
  std::string tried() const {
    return is_open() && !candidates.empty() ? candidates.front() : value;
  }
};

inline Setting settled(std::string name, std::string value, std::string evidence = {}) {
  return {std::move(name), std::move(value), {}, std::move(evidence)};
}
inline Setting open_setting(std::string name, std::vector<std::string> candidates,
                            std::string evidence) {
  return {std::move(name), std::string(kFillIn), std::move(candidates), std::move(evidence)};
}

}  // namespace girdle::draft
