// Houses for tests: the default policy without instruments, and whatever else a test writes down.
#pragma once

#include <gtest/gtest.h>

#include <variant>

#include "casework/decide.h"
#include "casework/house_spec.h"

namespace girdle::casework {

// Of a spec that is right.
inline BuiltHouse built(const HouseSpec& spec) {
  auto result = build(spec);
  if (const auto* problems = std::get_if<std::vector<HouseProblem>>(&result)) {
    for (const HouseProblem& problem : *problems) ADD_FAILURE() << problem.text;
  }
  return std::get<BuiltHouse>(std::move(result));
}

inline House house_of(const HouseSpec& spec) { return built(spec).house; }
inline House default_house() { return house_of({}); }

}  // namespace girdle::casework
