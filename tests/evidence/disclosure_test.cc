#include "evidence/disclosure.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace girdle::evidence {
namespace {

using model::Finding;
using testing::Contains;
using testing::Not;

// ISO 18323:2015, 2.2 and its notes, as public excerpts have them.
TEST(DisclosureWords, OfIsoNameLaboratoryGrownStonesInThreeWays) {
  const auto words = disclosure_words(*find_market("iso"), Finding::kLaboratoryGrown);
  for (const char* allowed : {"synthetic diamond", "laboratory-grown diamond", "laboratory-created diamond"}) {
    EXPECT_THAT(words.allowed, Contains(allowed));
  }
  for (const char* barred : {"lab grown", "lab created", "lab diamond", "syn diamond", "cultured", "cultivated",
                             "real", "genuine", "precious", "gem"}) {
    EXPECT_THAT(words.barred, Contains(barred));
  }
}

// Whatever the market: only a natural diamond is one without a qualifier, and what is barred is not
// what we write.
TEST(DisclosureWords, NeverCallAnythingElseADiamond) {
  for (const Market& market : markets()) {
    for (const auto identity : {Finding::kNatural, Finding::kLaboratoryGrown, Finding::kTreated,
                                Finding::kComposite, Finding::kSimulant}) {
      const auto words = disclosure_words(market, identity);
      ASSERT_FALSE(words.allowed.empty());
      if (identity != Finding::kNatural) {
        EXPECT_THAT(words.allowed, Not(Contains("diamond"))) << market.name;
      }
      for (const auto& word : words.allowed) EXPECT_THAT(words.barred, Not(Contains(word))) << market.name;
    }
    EXPECT_FALSE(market.source.empty());
  }
  EXPECT_EQ(find_market("moon"), nullptr);
}

TEST(DisclosureWords, AreNoneForWhatIsNoIdentity) {
  EXPECT_TRUE(disclosure_words(markets()[0], Finding::kIndeterminate).allowed.empty());
  EXPECT_TRUE(disclosure_words(markets()[0], Finding::kVoid).allowed.empty());
}

}  // namespace
}  // namespace girdle::evidence
