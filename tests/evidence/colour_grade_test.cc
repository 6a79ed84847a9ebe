#include "evidence/colour_grade.h"

#include <gtest/gtest.h>

namespace girdle::evidence {
namespace {

// The scale has 23 grades, D to Z (common practice, no source).
TEST(ColourRank, CountsTheTwentyThreeGradesFromD) {
  EXPECT_EQ(colour_rank("D"), 1);
  EXPECT_EQ(colour_rank("J"), 7);
  EXPECT_EQ(colour_rank("Z"), 23);
  for (char grade = 'D'; grade < 'Z'; ++grade) {
    EXPECT_LT(colour_rank(std::string(1, grade)), colour_rank(std::string(1, static_cast<char>(grade + 1))));
  }
}

TEST(ColourRank, GuessesNoRankForAnythingElse) {
  for (const char* grade : {"", "A", "C", "d", "D-E", "G+", "DD", " D", "fancy", "[", "\xC3\x84"}) {
    EXPECT_EQ(colour_rank(grade), std::nullopt) << grade;
  }
}

}  // namespace
}  // namespace girdle::evidence
