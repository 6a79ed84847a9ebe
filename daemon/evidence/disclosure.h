// What a stone may be called when it is sold, by market: words of published rules, as data.
//
// For screens and records, beside the caution: check your local rules. One identity inside, whatever
// the words outside. Not a legal opinion, and not complete.
#pragma once

#include <optional>
#include <span>
#include <string_view>

#include "model/words.h"

namespace girdle::evidence {

struct Market {
  std::string_view name;    // "iso", "cibjo", "us": as in the configuration
  std::string_view title;   // of the rule
  std::string_view source;  // where it was read, or "from memory"
};

struct DisclosureWords {
  std::span<const std::string_view> allowed;  // the first is what we write
  std::span<const std::string_view> barred;   // for this identity
};

std::span<const Market> markets();
const Market* find_market(std::string_view name);

// `identity` is one of the first five findings.
DisclosureWords disclosure_words(const Market& market, model::Finding identity);

inline constexpr std::string_view kCheckLocalRules =
    "Check your local rules on disclosure: they go before these words.";

}  // namespace girdle::evidence
