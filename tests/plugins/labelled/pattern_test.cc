// Source of what is and what is not a pattern: RE2's page on its syntax, Debian's
// /usr/share/doc/libre2-9/syntax.html.
#include "labelled/pattern.h"

#include <gmock/gmock.h>

namespace girdle::labelled {
namespace {

using testing::HasSubstr;

bool matches_one(std::string_view pattern, std::string_view text) {
  std::string refusal;
  const auto compiled = patterns("end", pattern, refusal);
  EXPECT_TRUE(compiled) << refusal;
  return compiled && matches_any(*compiled, text);
}

std::string refusal(std::string_view pattern) {
  std::string refusal;
  EXPECT_FALSE(patterns("end", pattern, refusal)) << pattern;
  return refusal;
}

TEST(LabelledPattern, MatchesWholeTexts) {
  EXPECT_TRUE(matches_one("-+", "---"));
  EXPECT_TRUE(matches_one("^-+$", "---"));
  EXPECT_FALSE(matches_one("-+", "--- x"));
  EXPECT_TRUE(matches_one("a|b+", "bb"));
  EXPECT_FALSE(matches_one("a|b+", "ab"));
  EXPECT_TRUE(matches_one("^$", ""));
}

TEST(LabelledPattern, HasTheSyntaxOfRe2) {
  EXPECT_TRUE(matches_one("(?i)END", "end"));
  EXPECT_TRUE(matches_one("\\pL\\p{Greek}[[:digit:]]\\d\\s", "\xC3\xA9\xCE\xB1\x31\x32 "));
  EXPECT_TRUE(matches_one(".", "\xF0\x9F\x92\x8E"));
  EXPECT_TRUE(matches_one("a{2,3}?(?P<name>b)", "aab"));
  EXPECT_TRUE(matches_one("\\x{20AC}\\Q.*\\E", "\xE2\x82\xAC.*"));
  for (const char* unsupported : {"(a)\\1", "a(?=b)", "(?<!a)b", "a++", "\\pX", "a{1001}"})
    EXPECT_THAT(refusal(unsupported), HasSubstr("is no regular expression of RE2")) << unsupported;
}

TEST(LabelledPattern, TakesOnePatternALine) {
  EXPECT_TRUE(matches_one("  a+ \r\n\n\tb+\n", "aa"));
  EXPECT_TRUE(matches_one("  a+ \r\n\n\tb+\n", "bb"));
  std::string many;
  for (size_t i = 0; i < kMostPatterns; ++i) many += "a\n";
  EXPECT_TRUE(matches_one(many, "a"));
  EXPECT_THAT(refusal(many + "b"), HasSubstr("at most 32 patterns"));
}

TEST(LabelledPattern, IsRefusedWhereItTakesTooMuchMemory) {
  EXPECT_THAT(refusal("\\pL{1000}"), HasSubstr("takes more than 1024 KiB"));
  EXPECT_THAT(refusal("((\\pL{10}){10}){10}"), HasSubstr("end: \"((\\pL{10}){10}){10}\" takes"));
  EXPECT_TRUE(matches_one("\\pL{1,30}", "abc"));
}

TEST(LabelledPattern, StaysQuietAndRightWhereItsStatesFillTheMemory) {
  testing::internal::CaptureStderr();
  std::string text;
  uint32_t bits = 1;
  for (int i = 0; i < 200'000; ++i) {
    bits = bits * 1664525 + 1013904223;
    text.push_back(bits >> 31 ? 'a' : 'b');
  }
  const std::string pattern = "[ab]*a[ab]{40}";
  text[text.size() - 41] = 'a';
  EXPECT_TRUE(matches_one(pattern, text));
  text[text.size() - 41] = 'b';
  EXPECT_FALSE(matches_one(pattern, text));
  EXPECT_EQ(testing::internal::GetCapturedStderr(), "");
}

}  // namespace
}  // namespace girdle::labelled
