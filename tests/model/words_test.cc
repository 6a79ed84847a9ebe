#include "model/words.h"

#include <gmock/gmock.h>

#include <set>
#include <string>
#include <vector>

namespace girdle::model {
namespace {

// The terms are those of ISO 18323 (natural, laboratory-grown, treated, composite, simulant) and two of ours; the types
// the usual classes by nitrogen and boron (common practice, no source).
TEST(Words, AreReadBackAsTheyAreWritten) {
  for (const char* word : {"natural", "laboratory_grown", "treated", "composite", "simulant", "indeterminate", "void"}) {
    ASSERT_TRUE(finding_of(word)) << word;
    EXPECT_EQ(text(*finding_of(word)), word);
  }
  for (const char* word : {"Ia", "Ib", "IIa", "IIb"}) {
    ASSERT_TRUE(diamond_type_of(word)) << word;
    EXPECT_EQ(text(*diamond_type_of(word)), word);
  }
  for (const char* word : {"stone", "piece", "parcel"}) {
    ASSERT_TRUE(subject_kind_of(word)) << word;
    EXPECT_EQ(text(*subject_kind_of(word)), word);
  }
  for (const char* word : {"repeat", "release", "hold", "refer", "reject"}) {
    ASSERT_TRUE(disposition_of(word)) << word;
    EXPECT_EQ(text(*disposition_of(word)), word);
  }
}

// Nothing is guessed: not by case, not by blanks, not by a beginning.
TEST(Words, AreExact) {
  for (const char* word : {"", "Natural", "natural ", "nat", "mixed", "none", "lab_grown"}) {
    EXPECT_FALSE(finding_of(word)) << word;
    EXPECT_FALSE(disposition_of(word)) << word;
  }
  for (const char* word : {"IA", "iia", "I", "IIc"}) EXPECT_FALSE(diamond_type_of(word)) << word;
}

TEST(Words, HaveTextsThatDiffer) {
  std::set<std::string> texts;
  for (int i = 0; i < kFindings; ++i) texts.emplace(text(static_cast<Finding>(i)));
  EXPECT_EQ(texts.size(), static_cast<size_t>(kFindings));
}

TEST(Notice, SaysThatItIsNoReportAndWhoToAsk) {
  EXPECT_THAT(std::string(kNotice), testing::AllOf(testing::HasSubstr("not an identification report"),
                                                   testing::HasSubstr("gemmological laboratory"),
                                                   testing::HasSubstr("local rules")));
}

}  // namespace
}  // namespace girdle::model
