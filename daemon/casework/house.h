// What a house has laid down: its policy and what its instruments can judge. Compiled once, then only read; any number
// of threads may use one House. Plain data: service/ builds it from the configuration.
#pragma once

#include <chrono>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/clock.h"
#include "base/result.h"
#include "model/outcome.h"
#include "policy/table.h"
#include "policy/unary_test.h"

namespace girdle::casework {

// What a value must be: unary tests over numbers. In those of a colour, the letters D to Z stand for their rank.
class Limit {
 public:
  // Errors as those of UnaryTest::parse; and a name that is no colour grade, or stands where no colour is meant.
  static base::Result<Limit> parse(std::string_view text, bool is_color);

  // Nothing when it cannot be told.
  std::optional<bool> holds(const policy::Value& value) const { return test_.matches(value, ranks_); }

 private:
  Limit(policy::UnaryTest test, std::vector<policy::Value> ranks) : test_(std::move(test)), ranks_(std::move(ranks)) {}
  policy::UnaryTest test_;
  std::vector<policy::Value> ranks_;  // of the names in the test
};

struct InstrumentRules {
  std::string bench;      // empty = none
  base::Millis cycle{0};  // shortest time between two measurements; 0 = not known: no two routes are matched
  std::optional<Limit> color, carat, table_mm;         // scope: what it can judge
  std::optional<Limit> temperature_c, humidity_pct;  // ambient: where it works

  bool has_scope() const { return color || carat || table_mm; }
};

struct House {
  model::PolicyStamp stamp = {};
  int required = 2;
  base::Millis reopen_after = std::chrono::hours(24 * 30);
  base::Millis scan_fresh = std::chrono::minutes(2);
  bool accept_unknown_scope = false;
  policy::Table table;               // over the facts of fact_names(), with outputs disposition and reason
  std::vector<size_t> fact_places = {};   // of the table's facts in fact_names()
  std::map<std::string, InstrumentRules, std::less<>> instruments = {};
  std::map<std::string, std::string, std::less<>> reason_texts = {};  // the house's own wording, by code

  // The rules of an instrument; of an unknown one the empty rules: its scope is unknown, and it has no limits.
  const InstrumentRules& rules_of(std::string_view serial) const;
};

}  // namespace girdle::casework
