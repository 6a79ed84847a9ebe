#include "casework/facts.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <iterator>
#include <random>

#include "casework/default_house.h"

namespace girdle::casework {
namespace {

using model::Evidence;

// The page of the manual, as the table has it.
std::string page() {
  std::string out = "| fact | type | values | means | unknown when |\n|---|---|---|---|---|\n";
  for (const Fact& fact : facts_of(FactSet::kAnswer)) {
    std::string values(fact.values);
    if (!fact.unit.empty()) values += (values.empty() ? "" : " ") + std::string(fact.unit);
    out += "| `" + std::string(fact.name) + "` | " + std::string(policy::type_name(fact.type)) + " | " + values + " | " +
           std::string(fact.meaning) + " | " + std::string(fact.unknown_when) + " |\n";
  }
  return out;
}

TEST(Facts, StandInTheManualAsTheyAre) {
  std::ifstream file(GIRDLE_SOURCE "/daemon/casework/README.md");
  const std::string manual((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>());
  ASSERT_FALSE(manual.empty());
  EXPECT_NE(manual.find(page()), std::string::npos) << "daemon/casework/README.md should have\n" << page();
}

// A fact that is always known is never null, and every value is of its type and within its values.
TEST(Facts, AreWhatTheyAreSaidToBe) {
  std::mt19937 random(7);
  const auto pick = [&](int n) { return static_cast<int>(random() % static_cast<unsigned>(n)); };
  for (int round = 0; round < 2000; ++round) {
    Evidence e;
    e.valid = pick(4), e.voids = pick(4), e.discounted = pick(4), e.required = 1 + pick(4);
    e.finding = static_cast<Evidence::Common>(pick(8));
    e.scope = static_cast<model::Scope>(pick(3));
    e.instrument = static_cast<model::Fitness>(pick(3));
    e.error_limits = static_cast<model::ErrorLimits>(pick(4));
    if (pick(2)) e.declared = static_cast<model::Finding>(pick(5));
    if (pick(2)) e.stone.carat = *base::Decimal::parse("0.53");
    if (pick(2)) e.probability = {model::Finding::kNatural, *base::Decimal::parse("0.5"), *base::Decimal::parse("0.4"), *base::Decimal::parse("0.6")};
    if (pick(2)) e.carat_estimate = {1, 1, 1, pick(2) == 0};
    if (pick(2)) e.more_runs = pick(5);
    const Settings settings{pick(2) == 0};
    const Answer answer{static_cast<model::Disposition>(pick(5)), "as_declared", std::nullopt};
    size_t place = 0;
    for (const Fact& fact : facts_of(FactSet::kAnswer)) {
      const policy::Value value = value_at(place++, e, settings, &answer);
      if (policy::is_null(value)) {
        EXPECT_FALSE(fact.unknown_when.empty()) << fact.name;
        continue;
      }
      EXPECT_TRUE(policy::has_type(value, fact.type)) << fact.name;
      if (fact.values.empty()) continue;
      EXPECT_EQ(policy::UnaryTest::parse(fact.values)->matches(value, {}), true) << fact.name << policy::to_json(value);
    }
  }
}

TEST(Facts, CanBeSetUnlessTheyFollowFromOthers) {
  const std::map<std::string_view, std::string_view> texts = {
      {"declared", "treated"}, {"kind", "piece"}, {"carat", "0.53"}, {"color", "F"}, {"shape", "round"}, {"mount", "ring"},
      {"channel", "pawn"}, {"stones", "3"}, {"value", "1500.50"}, {"finding", "mixed"}, {"valid", "2"}, {"voids", "1"},
      {"discounted", "1"}, {"required", "3"}, {"instruments", "2"}, {"dissent", "1"}, {"scope", "in"}, {"instrument", "fit"},
      {"probability", "0.99"}, {"probability_low", "0.9"}, {"probability_high", "0.999"}, {"error_limits", "open"},
      {"more_runs", "2"}, {"carat_estimate", "0.5"}, {"carat_low", "0.4"}, {"carat_high", "0.6"}, {"carat_plausible", "false"}};
  Evidence e;
  for (const auto& [name, text] : texts) {
    const auto set = set_fact(name, text, e);
    EXPECT_TRUE(set.ok()) << name << (set ? "" : set.error().text);
  }
  size_t place = 0;
  for (const Fact& fact : facts_of(FactSet::kEvidence)) {
    const policy::Value value = value_at(place++, e, {}, nullptr);
    if (const auto at = texts.find(fact.name); at != texts.end()) {
      EXPECT_EQ(value, *policy::value_of_text(at->second, fact.type)) << fact.name;
    } else {
      EXPECT_FALSE(set_fact(fact.name, "1", e).ok()) << fact.name;
    }
  }
  EXPECT_FALSE(set_fact("disposition", "hold", e).ok());
}

TEST(Facts, RefuseWhatTheyCannotBe) {
  Evidence e;
  const auto why = [&](std::string_view name, std::string_view text) {
    const auto set = set_fact(name, text, e);
    return set ? std::string() : set.error().text;
  };
  EXPECT_THAT(why("finding", "diamond"), testing::HasSubstr("finding is no \"diamond\"; it is one of \"natural\""));
  EXPECT_THAT(why("declared", "void"), testing::HasSubstr("declared is no \"void\""));
  EXPECT_THAT(why("valid", "1.5"), testing::HasSubstr("whole number"));
  EXPECT_THAT(why("valid", "-1"), testing::HasSubstr(">= 0"));
  EXPECT_THAT(why("probability", "1.1"), testing::HasSubstr("[0..1]"));
  EXPECT_THAT(why("carat", "0,5"), testing::HasSubstr("number"));
  EXPECT_EQ(e, Evidence());
}

}  // namespace
}  // namespace girdle::casework
