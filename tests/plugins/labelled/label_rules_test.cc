// What a line of a slip looks like is common practice, no source.
#include "labelled/label_rules.h"

#include <gmock/gmock.h>

namespace girdle::labelled {
namespace {

using testing::HasSubstr;

std::string found(std::string_view rules, std::string_view line) {
  std::string refusal;
  auto labels = LabelRules::from(rules, refusal);
  if (!labels) return refusal;
  const LabelRules::Found* fields = labels->find(line);
  if (fields == nullptr) return "none";
  std::string out;
  for (const auto& [label, value] : *fields)
    out += '[' + std::string(label) + "]=[" + std::string(value) + ']';
  return out;
}

TEST(LabelRules, EndALabelAtTheFirstColonOrEqualsSign) {
  EXPECT_EQ(found("", "Time: 10:15"), "[Time]=[10:15]");
  EXPECT_EQ(found("", "a b \t= c : d"), "[a b]=[c : d]");
  EXPECT_EQ(found("", "a:=b"), "[a]=[=b]");
  EXPECT_EQ(found("", "a:"), "[a]=[]");
  EXPECT_EQ(found("", ":b"), "none");
  EXPECT_EQ(found("", "= b"), "none");
  EXPECT_EQ(found("", "a b"), "none");
}

TEST(LabelRules, AreTakenInTheirOrder) {
  EXPECT_EQ(found("(a)(.*)\n(.*)(b)", "ab"), "[a]=[b]");
  EXPECT_EQ(found("(.*)(b)\n(a)(.*)", "xb"), "[x]=[b]");
}

TEST(LabelRules, LeaveOutGroupsThatTookNoPart) {
  EXPECT_EQ(found("(?P<a>1)?(?P<b>2)?", "2"), "[b]=[2]");
  EXPECT_EQ(found("(?P<a>1)?(?P<b>2)?x", "x"), "none");
  EXPECT_EQ(found("(?P<a>1?)(?P<b>2)", "2"), "[a]=[][b]=[2]");
  EXPECT_EQ(found("(a)?(b)", "b"), "none");
}

TEST(LabelRules, NeedTwoGroupsOrGroupsWithNames) {
  for (const char* rule : {"abc", "(a)", "(a)(b)(c)", "(a)(?P<b>b)", "(?P<a>a)(b)(c)"})
    EXPECT_THAT(found(rule, "x"), HasSubstr("must have two groups")) << rule;
  EXPECT_EQ(found("(?P<a>a)", "a"), "[a]=[a]");
  EXPECT_EQ(found("(?:x|y)(a)(b)", "yab"), "[a]=[b]");
}

}  // namespace
}  // namespace girdle::labelled
