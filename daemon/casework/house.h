// What a house has laid down: its policy and what its instruments can judge. Compiled once, then only read; any number
// of threads may use one House. Plain data: service/ builds it from the configuration.
#pragma once

#include <chrono>
#include <map>
#include <optional>
#include <string>
#include <string_view>

#include "base/clock.h"
#include "model/outcome.h"
#include "policy/table.h"
#include "policy/unary_test.h"

namespace girdle::casework {

struct InstrumentRules {
  std::string bench;      // empty = none
  base::Millis cycle{0};  // shortest time between two measurements; 0 = not known: no two routes are matched
  // What it can judge (scope) and where it works (ambient). In `color`, the letters D to Z stand for their rank.
  std::optional<policy::UnaryTest> color, carat, table_mm;
  std::optional<policy::UnaryTest> temperature_c, humidity_pct;

  bool has_scope() const { return color || carat || table_mm; }
};

struct House {
  model::PolicyStamp stamp;
  int required = 2;
  base::Millis reopen_after = std::chrono::hours(24 * 30);
  base::Millis scan_fresh = std::chrono::minutes(2);
  bool accept_unknown_scope = false;
  policy::Table table;  // compiled over the facts of fact_names(), with outputs disposition and reason
  std::map<std::string, InstrumentRules, std::less<>> instruments;
  std::map<std::string, std::string, std::less<>> reason_texts;  // the house's own wording, by code

  // The rules of an instrument; of an unknown one the empty rules: its scope is unknown, and it has no limits.
  const InstrumentRules& rules_of(std::string_view serial) const;
};

}  // namespace girdle::casework
