#include "config/problem.h"

#include <gmock/gmock.h>

namespace girdle::config {
namespace {

TEST(Problem, IsShownWithFileLineAndColumn) {
  EXPECT_EQ(format({"/a/b.yaml", {3, 7}, "text"}), "/a/b.yaml:3:7: text");
  EXPECT_EQ(format({"/a/b.yaml", {}, "text"}), "/a/b.yaml: text");
}

TEST(Problem, IsShownInOneLineWhateverItHolds) {
  EXPECT_EQ(format({"/a/b\n.yaml", {3, 7}, "no\rtext\x1b[2J"}),
            "/a/b\\x0a.yaml:3:7: no\\x0dtext\\x1b[2J");
  EXPECT_EQ(format({"/é.yaml", {}, std::string(5000, 'x')}), "/é.yaml: " + std::string(5000, 'x'));
}

TEST(Problem, ComesInTheOrderOfFilesLinesAndColumns) {
  Problems problems = {{"policy", {1, 1}, "p"}, {"main", {9, 1}, "c"}, {"map", {1, 1}, "m"},
                       {"main", {2, 10}, "b"},  {"main", {2, 9}, "a"}, {"policy", {}, "whole"}};
  put_in_order(problems, "main");
  std::string order;
  for (const Problem& problem : problems) order += problem.text + ' ';
  EXPECT_EQ(order, "a b c whole p m ");
}

TEST(Problem, ThatIsTheSameIsToldOnce) {
  Problems problems = {{"f", {1, 1}, "a"},
                       {"f", {1, 1}, "b"},
                       {"f", {1, 1}, "a"},
                       {"f", {1, 2}, "a"},
                       {"g", {1, 1}, "a"}};
  put_in_order(problems, "f");
  EXPECT_THAT(problems, testing::ElementsAre(Problem{"f", {1, 1}, "a"}, Problem{"f", {1, 1}, "b"},
                                             Problem{"f", {1, 2}, "a"}, Problem{"g", {1, 1}, "a"}));
}

}  // namespace
}  // namespace girdle::config
