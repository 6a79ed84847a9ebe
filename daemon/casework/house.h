// What a house has laid down: its policy and what its instruments can judge. Compiled once from a
// HouseSpec (house_spec.h), then only read; any number of threads may use one House.
#pragma once

#include <chrono>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/clock.h"
#include "casework/facts.h"
#include "casework/limit.h"
#include "evidence/confusion.h"
#include "evidence/identity_probability.h"
#include "evidence/sequential.h"
#include "model/outcome.h"
#include "policy/table.h"

namespace girdle::casework {

struct InstrumentRules {
  std::string bench;  // empty = none
  base::Millis cycle{
      0};  // shortest time between two measurements; 0 = not known: no two routes are matched
  std::optional<Limit> color, carat, table_mm;       // scope: what it can judge
  std::optional<Limit> temperature_c, humidity_pct;  // ambient: where it works
  std::optional<evidence::ConfusionCounts> known_stones;
  std::string known_stones_source;

  bool has_scope() const { return color || carat || table_mm; }
};

// A decision table over the facts of facts.h.
struct HouseTable {
  explicit HouseTable(policy::Table compiled);

  policy::Decision evaluate(const model::Evidence& evidence, Settings settings,
                            const Answer* answer = nullptr) const;

  policy::Table table;
  std::vector<size_t> places;  // of its facts in facts_of(kAnswer)
};

struct ChannelPriors {
  std::string channel;  // empty: every other channel, and none
  evidence::Priors shares{};
};

struct House {
  explicit House(policy::Table compiled) : table(std::move(compiled)) {}

  model::PolicyStamp stamp;
  int required = 2;
  base::Millis reopen_after = std::chrono::hours(24 * 30);
  base::Millis scan_fresh = std::chrono::minutes(2);
  Settings settings;
  double repeat_correlation = 1;
  double confidence = 0.95;
  evidence::ErrorLimits error_limits;
  std::vector<ChannelPriors> priors;

  HouseTable table;                          // outputs disposition and reason
  std::optional<HouseTable> required_table;  // output required: runs a stone
  std::optional<HouseTable>
      routing;  // output outlet: who hears of an outcome; nothing: all outlets

  std::map<std::string, InstrumentRules, std::less<>> instruments;
  std::map<std::string, std::string, std::less<>> reason_texts;  // the house's own wording, by code
  std::string market;  // whose words of disclosure are told; empty = none

  // The rules of an instrument; of an unknown one the empty rules: its scope is unknown, and it has
  // no limits.
  const InstrumentRules& rules_of(std::string_view serial) const;
  // Of a channel, else of every other; nothing where there are none.
  const evidence::Priors* priors_of(std::string_view channel) const;
};

}  // namespace girdle::casework
