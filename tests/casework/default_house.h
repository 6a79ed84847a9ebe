// Houses for tests: the default policy without instruments, and whatever else a test writes down.
#pragma once

#include <gtest/gtest.h>

#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "casework/decide.h"
#include "casework/house_spec.h"

namespace girdle::casework {

// A table of untyped inputs and one output.
inline policy::TableSpec table_of(std::string hit_policy, std::vector<std::string> inputs, std::string output,
                        std::vector<std::pair<std::vector<std::string>, std::string>> rules) {
  policy::TableSpec spec;
  spec.hit_policy = std::move(hit_policy);
  for (std::string& input : inputs) spec.inputs.emplace_back().expression = std::move(input);
  spec.outputs.emplace_back().name = std::move(output);
  for (auto& [when, then] : rules) {
    policy::TableSpec::Rule& rule = spec.rules.emplace_back();
    rule.when = std::move(when);
    rule.then = {std::move(then)};
  }
  return spec;
}

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
