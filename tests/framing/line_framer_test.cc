#include "framing/line_framer.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "recorder.h"

namespace girdle::framing {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

// No standard says how a bench instrument ends its lines; the three ends are common practice, no
// source.
TEST(LineFramer, EndsLinesAtCrLfAndBoth) {
  LineFramer framer(100);
  Recorder said;
  framer.feed("a\rb\nc\r\nd\n\re", said);
  EXPECT_THAT(said.frames(), ElementsAre("a", "b", "c", "d"));
  EXPECT_EQ(framer.pending(), 1u);
  EXPECT_THAT(said.faults(), IsEmpty());
}

TEST(LineFramer, TakesACrLfSplitOverReadsAsOneEnd) {
  LineFramer framer(100);
  Recorder said;
  framer.feed("a\r", said);
  EXPECT_THAT(said.frames(), ElementsAre("a"));  // does not wait for an LF that may never come
  framer.feed("\nb\r", said);
  framer.feed("c\n", said);
  EXPECT_THAT(said.frames(), ElementsAre("a", "b", "c"));
}

TEST(LineFramer, IgnoresEmptyLines) {
  LineFramer framer(100);
  Recorder said;
  framer.feed("\r\n\r\n\n\ra\r\n\r\n", said);
  EXPECT_THAT(said.frames(), ElementsAre("a"));
  framer.reset(said);
  EXPECT_THAT(said.faults(), IsEmpty());
}

TEST(LineFramer, KeepsAPartialFrameAcrossReads) {
  LineFramer framer(100);
  Recorder said;
  framer.feed("R10", said);
  framer.feed("42;nat", said);
  EXPECT_THAT(said.frames(), IsEmpty());
  framer.feed("ural\n", said);
  EXPECT_THAT(said.frames(), ElementsAre("R1042;natural"));
}

TEST(LineFramer, TellsWhereInTheStreamAFrameBegan) {
  LineFramer framer(100);
  Recorder said;
  framer.feed("ab\r\ncd\n\nef\n", said);
  ASSERT_EQ(said.said.size(), 3u);
  EXPECT_EQ(said.said[0].stream_offset, 0u);
  EXPECT_EQ(said.said[1].stream_offset, 4u);
  EXPECT_EQ(said.said[2].stream_offset, 8u);
}

TEST(LineFramer, MakesOneFaultOfALineAboveTheLimitAndStartsAfreshAtTheNextEnd) {
  LineFramer framer(4);
  Recorder said;
  framer.feed("1234\n12345", said);
  ASSERT_THAT(said.frames(), ElementsAre("1234"));
  ASSERT_EQ(said.faults().size(), 1u);
  EXPECT_EQ(said.faults()[0].bytes, "1234");
  EXPECT_TRUE(said.faults()[0].truncated);
  EXPECT_EQ(said.faults()[0].stream_offset, 5u);
  EXPECT_EQ(framer.pending(), 0u);  // nothing of an endless line is kept
  framer.feed(std::string(100000, 'x'), said);
  framer.feed("\nok\n", said);
  EXPECT_THAT(said.frames(), ElementsAre("1234", "ok"));
  EXPECT_EQ(said.faults().size(), 1u);
}

TEST(LineFramer, MakesAFaultOfThePartialFrameOfALostLine) {
  LineFramer framer(100);
  Recorder said;
  framer.feed("whole\nhal", said);
  framer.reset(said);
  framer.feed("next\n", said);
  EXPECT_THAT(said.frames(), ElementsAre("whole", "next"));
  ASSERT_EQ(said.faults().size(), 1u);
  EXPECT_EQ(said.faults()[0].bytes, "hal");
  EXPECT_FALSE(said.faults()[0].truncated);
}

TEST(LineFramer, MakesAFaultOfAFrameWithADamagedByte) {
  LineFramer framer(100);
  Recorder said;
  framer.feed("a\nb", said);
  framer.feed_damaged('\n',
                      said);  // a damaged byte never ends a line: what it really was is not known
  framer.feed("c\nd\n", said);
  EXPECT_THAT(said.frames(), ElementsAre("a", "d"));
  ASSERT_EQ(said.faults().size(), 1u);
  EXPECT_EQ(said.faults()[0].bytes, "b\nc");
}

TEST(LineFramer, IgnoresABreakBetweenFramesAndNotWithinOne) {
  LineFramer framer(100);
  Recorder said;
  framer.feed_damaged('\0', said);
  framer.feed("a\n", said);
  framer.feed("b", said);
  framer.feed_damaged('\0', said);
  framer.feed("\n", said);
  EXPECT_THAT(said.frames(), ElementsAre("a"));
  EXPECT_EQ(said.said[0].stream_offset, 1u);
  EXPECT_EQ(said.faults().size(), 1u);
}

}  // namespace
}  // namespace girdle::framing
