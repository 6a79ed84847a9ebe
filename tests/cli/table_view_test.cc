#include "cli/table_view.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <sstream>

namespace girdle::cli {
namespace {

class TableViewTest : public testing::Test {
 protected:
  std::string printed(const TableView& table, int width = 0, bool terminal = false) {
    std::ostringstream out, err;
    Screen screen{out, err, terminal, width};
    table.print(screen);
    return out.str();
  }
};

TEST_F(TableViewTest, AlignsColumns) {
  TableView table({"ID", "WHY"});
  table.add({"1042", "busy"});
  table.add({"7", "gone"});
  EXPECT_EQ(printed(table), "ID    WHY\n1042  busy\n7     gone\n");
}

TEST_F(TableViewTest, PutsLinesBelowTheirRow) {
  TableView table({"ID", "WHY"});
  table.add({"1", "busy"});
  table.add_below("    1  503");
  table.add_below("    2  503");
  table.add({"2", "gone"});
  EXPECT_EQ(printed(table), "ID  WHY\n1   busy\n    1  503\n    2  503\n2   gone\n");
}

TEST_F(TableViewTest, CutsTheLastColumnToTheScreen) {
  TableView table({"ID", "WHY"});
  table.add({"1", std::string(40, 'x')});
  EXPECT_EQ(printed(table, 20), "ID  WHY\n1   " + std::string(15, 'x') + "…\n");
}

TEST_F(TableViewTest, BreaksLinesBelowBetweenWords) {
  TableView table({"ID"});
  table.add({"1"});
  table.add_below("    1  503 the till is busy, ask later");
  EXPECT_EQ(printed(table, 24), "ID\n1\n    1  503 the till is\n       busy, ask later\n");
  EXPECT_EQ(printed(table), "ID\n1\n    1  503 the till is busy, ask later\n");
}

TEST_F(TableViewTest, BreaksAWordThatAloneIsTooLongAndLosesNothing) {
  TableView table({"ID"});
  table.add({"1"});
  table.add_below("    " + std::string(50, 'y') + "\xC3\xA9 z");
  const std::string shown = printed(table, 24);
  EXPECT_EQ(std::count(shown.begin(), shown.end(), 'y'), 50);
  EXPECT_NE(shown.find("\xC3\xA9"), std::string::npos) << shown;
  EXPECT_TRUE(shown.ends_with(" z\n"));
  std::istringstream lines(shown);
  for (std::string line; std::getline(lines, line);) EXPECT_LE(display_width(line), 24u) << line;
}

TEST_F(TableViewTest, MakesLinesBelowFaintOnATerminalOnly) {
  TableView table({"ID"});
  table.add({"1"});
  table.add_below("note");
  EXPECT_EQ(printed(table, 80, true), "\x1b[1mID\x1b[0m\n1\n\x1b[2mnote\x1b[0m\n");
}

}  // namespace
}  // namespace girdle::cli
