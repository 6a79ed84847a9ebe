#include "api/cause.h"

#include <gtest/gtest.h>

namespace girdle::api {
namespace {

// The reasons are those of daemon/reading and of the readers; what they have in common is ours to say, no source.
TEST(Cause, IsTheReasonWithoutWhatStoodInTheRecord) {
  EXPECT_EQ(cause_of("column \"carat\" holds \"0,53\", which is no number with the decimal mark \".\""),
            "column \"carat\" holds \"…\", which is no number with the decimal mark \"…\"");
  EXPECT_EQ(
      cause_of("column \"result\" holds \"Q\", which is not a finding; the mapping can translate it with  words"),
      cause_of("column \"result\" holds \"?\", which is not a finding; the mapping can translate it with  words"));
}

TEST(Cause, KeepsTheNamesOfColumnsApart) {
  EXPECT_NE(cause_of("column \"a\" is empty, and run has to be there"),
            cause_of("column \"b\" is empty, and run has to be there"));
  EXPECT_EQ(cause_of("column \"date\" with \"time\" holds \"31.02.2026 10:00\", which is no date"),
            "column \"date\" with \"time\" holds \"…\", which is no date");
}

TEST(Cause, TakesOutNumbersThatStandByThemselves) {
  EXPECT_EQ(cause_of("1 field where there are 12 columns"), "… field where there are … columns");
  EXPECT_EQ(cause_of("more than 1048576 bytes (12.5 MiB)"), "more than … bytes (… MiB)");
  EXPECT_EQ(cause_of("measured at -4, 0.53"), "measured at -…, …");
}

TEST(Cause, LeavesNumbersThatArePartOfAWord) {
  for (const char* reason :
       {"not UTF-8", "xl/worksheets/sheet1.xml: it is cut off", "a control character (1B)", "A-0117 is no time"}) {
    EXPECT_EQ(cause_of(reason), reason);
  }
}

TEST(Cause, OfQuotesInsideAQuotedTextTheLastCounts) {
  EXPECT_EQ(cause_of("holds \"5\"x\", which is no number"), "holds \"…\", which is no number");
  EXPECT_EQ(cause_of("a quote \"is opened"), "a quote \"is opened");
  EXPECT_EQ(cause_of(""), "");
  EXPECT_EQ(cause_of("\""), "\"");
}

TEST(Cause, OfACauseIsTheCauseItself) {
  for (const char* reason :
       {"column \"carat\" holds \"0,53\", which is no number", "1 field where there are 2 columns", "not JSON"}) {
    const std::string cause = cause_of(reason);
    EXPECT_EQ(cause_of(cause), cause);
  }
}

}  // namespace
}  // namespace girdle::api
