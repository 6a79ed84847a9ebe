// Short ways to write tables in tests.
#pragma once

#include <gtest/gtest.h>

#include <string>
#include <utility>
#include <vector>

#include "policy/table.h"
#include "policy/values.h"

namespace girdle::policy {

// One input x and one output without a name, of no stated types; each rule is its cell and its
// output.
inline TableSpec one_column(std::string hit_policy,
                            std::vector<std::pair<std::string, std::string>> rules,
                            std::string aggregation = "") {
  TableSpec spec;
  spec.hit_policy = std::move(hit_policy);
  spec.aggregation = std::move(aggregation);
  spec.inputs = {{"x", "number"}};
  spec.outputs = {{""}};
  for (auto& [when, then] : rules) spec.rules.push_back({{when}, {then}});
  return spec;
}

inline std::string problems_of(const TableSpec& spec, std::span<const KnownFact> known = {}) {
  const auto compiled = Table::compile(spec, known);
  const auto* problems = std::get_if<std::vector<Problem>>(&compiled);
  if (problems == nullptr) return "";
  std::string all;
  for (const Problem& problem : *problems) {
    all += std::to_string(problem.mark.line) + ":" + std::to_string(problem.mark.column) + ": " +
           problem.text + "\n";
  }
  return all;
}

// A table that must be right.
inline Table compiled(const TableSpec& spec) {
  auto result = Table::compile(spec);
  EXPECT_TRUE(std::holds_alternative<Table>(result)) << problems_of(spec);
  return std::get<Table>(std::move(result));
}

inline std::string decide(const TableSpec& spec, const Facts& facts) {
  return to_json(compiled(spec).evaluate(facts));
}

}  // namespace girdle::policy
