#include "evidence/disclosure.h"

namespace girdle::evidence {
namespace {

using model::Finding;
using Words = std::string_view;

constexpr Market kMarkets[] = {
    {"iso", "ISO 18323:2015, Jewellery: consumer confidence in the diamond industry",
     "public excerpts of 2.2 and its notes"},
    {"cibjo", "CIBJO Diamond Blue Book", "from memory"},
    {"us", "16 CFR Part 23, Guides for the Jewelry, Precious Metals, and Pewter Industries (2018)",
     "from memory"},
};

constexpr Words kNatural[] = {"natural diamond", "diamond"};
constexpr Words kGrown[] = {"laboratory-grown diamond", "laboratory-created diamond",
                            "synthetic diamond"};
constexpr Words kGrownBarred[] = {"lab grown",  "lab created", "lab diamond", "syn diamond",
                                  "cultured",   "cultivated",  "real",        "genuine",
                                  "precious",   "gem",         "natural"};
constexpr Words kGrownUs[] = {"laboratory-grown diamond", "laboratory-created diamond"};
constexpr Words kGrownBarredUs[] = {"real", "genuine", "natural", "precious", "semi-precious"};
constexpr Words kTreated[] = {"treated diamond"};
constexpr Words kTreatedBarred[] = {"diamond", "natural diamond"};
constexpr Words kComposite[] = {"composite diamond"};
constexpr Words kCompositeUs[] = {"composite product"};
constexpr Words kSimulant[] = {"diamond simulant", "imitation diamond"};
constexpr Words kSimulantUs[] = {"imitation diamond", "simulated diamond"};
constexpr Words kSimulantBarred[] = {"diamond", "natural diamond", "laboratory-grown diamond"};

}  // namespace

std::span<const Market> markets() { return kMarkets; }

const Market* find_market(std::string_view name) {
  for (const Market& market : kMarkets) {
    if (market.name == name) return &market;
  }
  return nullptr;
}

DisclosureWords disclosure_words(const Market& market, Finding identity) {
  const bool is_us = market.name == "us";
  switch (identity) {
    case Finding::kNatural:
      return {kNatural, {}};
    case Finding::kLaboratoryGrown:
      return is_us ? DisclosureWords{kGrownUs, kGrownBarredUs}
                   : DisclosureWords{kGrown, kGrownBarred};
    case Finding::kTreated:
      return {kTreated, kTreatedBarred};
    case Finding::kComposite:
      return {is_us ? std::span<const Words>(kCompositeUs) : std::span<const Words>(kComposite),
              kTreatedBarred};
    case Finding::kSimulant:
      return {is_us ? std::span<const Words>(kSimulantUs) : std::span<const Words>(kSimulant),
              kSimulantBarred};
    case Finding::kIndeterminate:
    case Finding::kVoid:
      break;
  }
  return {};
}

}  // namespace girdle::evidence
