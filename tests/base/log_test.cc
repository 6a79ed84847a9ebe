#include "base/log.h"

#include <gmock/gmock.h>

namespace girdle::base {
namespace {

using testing::HasSubstr;
using testing::Not;

TEST(Log, WritesOneLineAnEventWithItsFields) {
  const Log log = Log::to_memory();
  log.warning("outlet fails", {{"outlet", "till"}, {"attempts", 3}});
  EXPECT_THAT(log.text(), HasSubstr("warning outlet fails outlet=till attempts=3\n"));
}

TEST(Log, QuotesValuesThatAReaderWouldStumbleOver) {
  const Log log = Log::to_memory();
  log.error("x", {{"a", "two words"}, {"b", "with \"quotes\""}, {"c", ""}, {"d", "k=v"}});
  EXPECT_THAT(log.text(), HasSubstr(R"(a="two words" b="with \"quotes\"" c="" d="k=v")"));
}

TEST(Log, KeepsAForgedLineWithinItsField) {
  const Log log = Log::to_memory();
  log.error("set aside", {{"reason", "x\n2026-01-01 error all is lost\r\x1b[2J\xff"}});
  const std::string text = log.text();
  EXPECT_EQ(std::count(text.begin(), text.end(), '\n'), 1);
  EXPECT_THAT(text, HasSubstr("\\x0a"));
  EXPECT_THAT(text, Not(HasSubstr("\x1b")));
}

TEST(Log, LeavesOutWhatIsUnderItsLevel) {
  const Log log = Log::to_memory();
  log.debug("first");
  log.set_level("warning");
  log.info("second");
  log.warning("third");
  EXPECT_THAT(log.text(), HasSubstr("first"));
  EXPECT_THAT(log.text(), Not(HasSubstr("second")));
  EXPECT_THAT(log.text(), HasSubstr("third"));
}

TEST(Log, CopiesWriteToTheSamePlace) {
  const Log log = Log::to_memory();
  const Log copy = log;
  copy.info("from the copy");
  EXPECT_THAT(log.text(), HasSubstr("from the copy"));
  Log::to_nowhere().error("nobody hears it");
}

}  // namespace
}  // namespace girdle::base
