// A house as it is written down: texts and numbers, not compiled. Service makes it from the
// configuration, and the ledger keeps it as a text, so that any outcome can be computed again by
// the rules of its time. Plain values, pure.
#pragma once

#include <array>
#include <chrono>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include "base/clock.h"
#include "base/decimal.h"
#include "base/result.h"
#include "casework/house.h"
#include "policy/table_spec.h"

namespace girdle::casework {

struct Located {
  std::string text;
  policy::Mark mark = {};
};

struct HouseSpec {
  // Runs on known stones, by identity and by answer.
  using Counts = std::array<std::array<int64_t, evidence::kAnswers>, evidence::kIdentities>;
  struct Instrument {
    std::string serial, bench;
    base::Millis cycle{0};
    std::map<std::string, Located> scope;    // color, carat, table_mm: unary tests
    std::map<std::string, Located> ambient;  // temperature_c, humidity_pct
    std::optional<Counts> known_stones;
    std::string known_stones_source;
  };
  struct Priors {
    std::string channel;  // empty: every other
    std::array<base::Decimal, evidence::kIdentities> shares{};
  };
  struct Example {
    policy::Mark mark;
    std::vector<std::pair<Located, Located>> facts;  // by name
    Located disposition, reason, required;           // empty: not asked about
    std::optional<std::vector<Located>> outlets;
  };

  std::string name = "default", version = "1";
  std::optional<base::Instant> valid_from;
  int required = 2;
  base::Millis reopen_after = std::chrono::hours(24 * 30);
  base::Millis scan_fresh = std::chrono::minutes(2);
  bool accept_unknown_scope = false;
  base::Decimal repeat_correlation = 1;
  base::Decimal miss_limit = *base::Decimal::parse("0.01");
  base::Decimal false_alarm_limit = *base::Decimal::parse("0.05");
  base::Decimal confidence = *base::Decimal::parse("0.95");
  std::vector<Priors> priors;
  policy::TableSpec table = default_table();
  std::optional<policy::TableSpec> required_table, routing;
  std::map<std::string, Located> reasons;  // in the site's language, by code
  std::string market;
  std::vector<Instrument> instruments;  // by serial number
  std::vector<Example> examples;        // never part of the text: they change no answer

  // The default policy's table (common practice, no source: two or three runs a stone; a metal seat
  // can read as a simulant).
  static policy::TableSpec default_table();
};

// In which part of what is written down something is wrong.
enum class HousePart : uint8_t { kInstruments, kTable, kRequired, kRouting, kReasons, kExamples };

struct HouseProblem {
  HousePart part;
  policy::Mark mark;
  std::string text;
};

// The house with its stamp, and the text by whose digest it goes; or all that is wrong but for
// examples.
struct BuiltHouse {
  House house;
  std::string rules;
};
std::variant<BuiltHouse, std::vector<HouseProblem>> build(const HouseSpec& spec);

// Examples that come out otherwise.
std::vector<HouseProblem> try_examples(const HouseSpec& spec, const House& house);

// Everything that an answer and its wording depend on, as JSON in a fixed order: equal houses have
// equal texts, and what an older version did not know is left out where it has its default, so that
// its digests stay.
std::string rules_text(const HouseSpec& spec);
// What rules_text() wrote, by this version or an older one.
base::Result<HouseSpec> read_rules(std::string_view text);

}  // namespace girdle::casework
