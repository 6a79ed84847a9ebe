#include "delimited/ignored_lines.h"

#include <gmock/gmock.h>

namespace girdle::delimited {
namespace {

using testing::HasSubstr;

IgnoredLines ignored(std::string_view patterns) {
  std::string refusal;
  std::optional<IgnoredLines> lines = IgnoredLines::from(patterns, refusal);
  EXPECT_EQ(refusal, "");
  return lines.value();
}

std::string refusal_of(std::string_view patterns) {
  std::string refusal;
  EXPECT_FALSE(IgnoredLines::from(patterns, refusal)) << patterns;
  return refusal;
}

TEST(IgnoredLines, MatchWholeLinesOnly) {
  const IgnoredLines lines = ignored("Total: \\d+\n  -+  \n\n");
  EXPECT_TRUE(lines.match("Total: 12"));
  EXPECT_TRUE(lines.match("----"));
  for (const char* line : {"", "Total: ", "Total: 12 ", "A Total: 12", "-- -", "Total: 1-"})
    EXPECT_FALSE(lines.match(line)) << line;
  EXPECT_FALSE(lines.none());
}

TEST(IgnoredLines, AreNoneWithoutPatterns) {
  for (const char* patterns : {"", "\n", "  \n \n"}) {
    EXPECT_TRUE(ignored(patterns).none());
    EXPECT_FALSE(ignored(patterns).match(""));
  }
}

TEST(IgnoredLines, KeepPatternsApart) {
  const IgnoredLines lines = ignored("a|b\nc(d)\n(?i)e");
  for (const char* line : {"a", "b", "cd", "E"}) EXPECT_TRUE(lines.match(line)) << line;
  for (const char* line : {"A", "CD", "ab", "bc"}) EXPECT_FALSE(lines.match(line)) << line;
}

TEST(IgnoredLines, TakeCharactersNotBytes) {
  EXPECT_TRUE(ignored("Gr..e").match("Größe"));
  EXPECT_FALSE(
      ignored("Gr..e").match("Gr\xF6\xDF"
                             "e"));
}

TEST(IgnoredLines, RefuseWhatIsNoPattern) {
  EXPECT_THAT(refusal_of("a(\n)b"), HasSubstr("\"a(\" is no pattern of RE2: missing )"));
  EXPECT_THAT(refusal_of("(a)\\1"), HasSubstr("no pattern of RE2"));  // RE2 has no back references
  EXPECT_THAT(refusal_of("(((a{100}){100}){100}"), HasSubstr("no pattern of RE2"));
  EXPECT_THAT(refusal_of(std::string(5000, 'a')), HasSubstr("longer than 4096 bytes"));
}

TEST(IgnoredLines, TakeTimeThatGrowsWithTheLineAndNoFaster) {
  const IgnoredLines lines = ignored("(a*)*(a|aa)*b");
  EXPECT_FALSE(lines.match(std::string(200'000, 'a')));  // does not end where one backtracks
}

}  // namespace
}  // namespace girdle::delimited
