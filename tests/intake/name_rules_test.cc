#include "intake/name_rules.h"

#include <gtest/gtest.h>

namespace girdle::intake {
namespace {

TEST(NameRules, TakesWhatTheGlobMatches) {
  const NameRules rules("*.csv");
  EXPECT_TRUE(rules.is_document("a.csv"));
  EXPECT_FALSE(rules.is_document("a.CSV"));
  EXPECT_FALSE(rules.is_document("a.csv.bak"));
  EXPECT_TRUE(NameRules("result-[0-9]*.txt").is_document("result-7.txt"));
  EXPECT_TRUE(NameRules("*").is_document("anything at all"));
}

// The names that platform notes give as those of files that are not complete.
TEST(NameRules, LeavesUnfinishedNamesAloneWhateverTheGlob) {
  const NameRules rules("*");
  for (const char* name :
       {"", ".", "..", ".hidden.csv", "a.csv~", "a.tmp", "a.TMP", "a.csv.part", "a.Part", ".tmp"}) {
    EXPECT_FALSE(rules.is_document(name)) << name;
  }
  for (const char* name : {"tmp", "part", "a.tmp.csv", "a~b", "a.parts"}) {
    EXPECT_TRUE(rules.is_document(name)) << name;
  }
}

TEST(NameRules, NumbersANameBeforeItsEnding) {
  EXPECT_EQ(numbered_name("a.csv", 2), "a-2.csv");
  EXPECT_EQ(numbered_name("a", 3), "a-3");
  EXPECT_EQ(numbered_name("a.b.csv", 12), "a.b-12.csv");
  EXPECT_EQ(numbered_name(".a", 2), ".a-2");
}

}  // namespace
}  // namespace girdle::intake
