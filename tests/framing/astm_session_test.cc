#include "framing/astm_session.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "astm_recorder.h"

namespace girdle::framing {
namespace {

using config::AstmDeviation;
using testing::HasSubstr;
using Kind = AstmSession::Verdict::Kind;

AstmFrame frame(int number, std::string_view text, bool is_last = true) {
  return {text, text, number, is_last, {}, 0};
}

// Takes it where it may be taken; gives what the session made of it.
Kind next(AstmSession& session, const AstmFrame& frame) {
  const auto verdict = session.judge(frame);
  if (verdict.kind != Kind::kTake) return verdict.kind;
  const std::string text = session.rest() + text_to_read(frame);
  const size_t end = text.rfind('\r') + 1;
  session.take(frame, text.substr(end), "state");
  return Kind::kTake;
}

// python-astm 0.5's tests (BSD), github kxepal/python-astm @606a774, astm/tests/test_codecs.py,
// test_frame_number: numbers run 1 to 7, then 0, 1, 2.
TEST(AstmSession, CountsFramesFromOneModuloEight) {
  AstmSession session(astm_settings());
  session.open();
  for (const int number : {1, 2, 3, 4, 5, 6, 7, 0, 1, 2}) {
    EXPECT_EQ(next(session, frame(number, "A" + std::to_string(session.frames()) + "\r")),
              Kind::kTake);
  }
  EXPECT_EQ(session.frames(), 10u);
}

TEST(AstmSession, IgnoresFramesWithoutASession) {
  AstmSession session(astm_settings());
  const auto verdict = session.judge(frame(1, "A\r"));
  EXPECT_EQ(verdict.kind, Kind::kIgnore);
  EXPECT_THAT(verdict.reason, HasSubstr("accept: { no_enq: true }"));
  session.open();
  EXPECT_EQ(next(session, frame(1, "A\r")), Kind::kTake);
  session.close();
  EXPECT_EQ(session.judge(frame(2, "B\r")).kind, Kind::kIgnore);
}

TEST(AstmSession, TellsARepeatByNumberAndText) {
  AstmSession session(astm_settings());
  session.open();
  EXPECT_EQ(next(session, frame(1, "A\r")), Kind::kTake);
  EXPECT_EQ(next(session, frame(1, "A\r")), Kind::kRepeat);
  EXPECT_EQ(next(session, frame(1, "A\r")), Kind::kRepeat);
  EXPECT_EQ(next(session, frame(2, "A\r")), Kind::kTake);  // the same text again, in its own frame
  session.open();
  EXPECT_EQ(next(session, frame(1, "A\r")), Kind::kTake);  // of the next session
}

TEST(AstmSession, RefusesAnotherTextUnderTheSameNumber) {
  AstmSession session(astm_settings());
  session.open();
  EXPECT_EQ(next(session, frame(1, "A\r")), Kind::kTake);
  const auto verdict = session.judge(frame(1, "B\r"));
  EXPECT_EQ(verdict.kind, Kind::kRefuse);
  EXPECT_THAT(verdict.reason, HasSubstr("constant_number"));

  AstmSession lenient(astm_settings({AstmDeviation::kConstantNumber}));
  lenient.open();
  for (const char* text : {"A\r", "B\r", "C\r"}) {
    EXPECT_EQ(next(lenient, frame(1, text)), Kind::kTake);
    EXPECT_EQ(next(lenient, frame(1, text)), Kind::kRepeat);
  }
}

TEST(AstmSession, RefusesANumberThatIsNotDue) {
  AstmSession session(astm_settings());
  session.open();
  EXPECT_EQ(session.judge(frame(2, "A\r")).kind, Kind::kRefuse);
  EXPECT_EQ(next(session, frame(1, "A\r")), Kind::kTake);
  const auto verdict = session.judge(frame(3, "C\r"));
  EXPECT_EQ(verdict.kind, Kind::kRefuse);
  EXPECT_EQ(verdict.reason,
            "the number of this frame is 3 where 2 is due; accept: { skipped_number: true } takes "
            "such frames");

  AstmSession lenient(astm_settings({AstmDeviation::kSkippedNumber}));
  lenient.open();
  EXPECT_EQ(next(lenient, frame(0, "A\r")), Kind::kTake);
  EXPECT_EQ(next(lenient, frame(3, "B\r")), Kind::kTake);
  const auto skipped = lenient.judge(frame(7, "C\r"));
  EXPECT_TRUE(skipped.deviations[static_cast<size_t>(AstmDeviation::kSkippedNumber)]);
}

TEST(AstmSession, TakesNoSkippedNumberWithinARecord) {
  AstmSession session(astm_settings({AstmDeviation::kSkippedNumber}));
  session.open();
  EXPECT_EQ(next(session, frame(1, "R|1|0.2", false)), Kind::kTake);
  const auto verdict = session.judge(frame(3, "95\r"));
  EXPECT_EQ(verdict.kind, Kind::kRefuse);
  EXPECT_THAT(verdict.reason, HasSubstr("in the middle of a record"));
  EXPECT_EQ(next(session, frame(2, "95\r")), Kind::kTake);
}

TEST(AstmSession, BeginsWithoutEnqWhereThatIsAccepted) {
  AstmSession session(astm_settings({AstmDeviation::kNoEnq}));
  EXPECT_EQ(next(session, frame(4, "A\r")), Kind::kTake);  // whatever its number
  EXPECT_EQ(next(session, frame(5, "B\r")), Kind::kTake);
  EXPECT_EQ(next(session, frame(1, "C\r")), Kind::kRefuse);
  session.close();
  EXPECT_EQ(next(session, frame(5, "B\r")), Kind::kRepeat);  // late
  EXPECT_EQ(next(session, frame(1, "C\r")), Kind::kTake);
}

TEST(AstmSession, BeginsAnewAtNumberOneWithoutEnqAndEot) {
  AstmSession session(astm_settings({AstmDeviation::kNoEnq, AstmDeviation::kNoEot}));
  EXPECT_EQ(next(session, frame(1, "A\r")), Kind::kTake);
  EXPECT_EQ(next(session, frame(2, "B\r")), Kind::kTake);
  EXPECT_EQ(next(session, frame(2, "B\r")), Kind::kRepeat);
  EXPECT_EQ(next(session, frame(1, "A\r")), Kind::kBeginAnew);
  EXPECT_EQ(next(session, frame(4, "A\r")), Kind::kRefuse);
}

TEST(AstmSession, BoundsARecordOfManyFrames) {
  config::Framing settings = astm_settings();
  settings.max_bytes = 10;
  AstmSession session(settings);
  session.open();
  EXPECT_EQ(next(session, frame(1, "12345", false)), Kind::kTake);
  EXPECT_EQ(next(session, frame(2, "67890", false)), Kind::kTake);
  const auto verdict = session.judge(frame(3, "1", false));
  EXPECT_EQ(verdict.kind, Kind::kRefuse);
  EXPECT_THAT(verdict.reason, HasSubstr("longer than 10 bytes"));
  EXPECT_EQ(session.rest(), "1234567890");
}

TEST(AstmSession, KnowsWhereItStoodAfterARestart) {
  AstmSession session(astm_settings());
  session.open();
  next(session, frame(1, std::string("H|\0\r", 4)));
  next(session, frame(2, "R|1|0.2", false));
  AstmSession loaded(astm_settings());
  ASSERT_TRUE(loaded.load(session.save()));
  EXPECT_TRUE(loaded.is_open());
  EXPECT_TRUE(loaded.is_cut_off());
  EXPECT_EQ(loaded.rest(), "R|1|0.2");
  EXPECT_EQ(loaded.reader(), "state");
  EXPECT_EQ(loaded.frames(), 2u);
  EXPECT_EQ(loaded.offset(), 11u);
  EXPECT_EQ(next(loaded, frame(2, "R|1|0.2", false)), Kind::kRepeat);
  EXPECT_EQ(next(loaded, frame(3, "95\r")), Kind::kTake);
}

TEST(AstmSession, LoadsNothingButWhatWasSaved) {
  AstmSession session(astm_settings());
  session.open();
  next(session, frame(1, "A\rb", false));
  const std::string saved = session.save();
  for (size_t size = 0; size < saved.size(); ++size) {
    AstmSession other(astm_settings());
    EXPECT_FALSE(other.load(saved.substr(0, size))) << size;
    EXPECT_FALSE(other.is_open()) << size;
  }
  AstmSession other(astm_settings());
  EXPECT_FALSE(other.load(saved + "x"));
  EXPECT_FALSE(other.load("2"));
  EXPECT_TRUE(other.load(saved));
}

TEST(AstmSession, GivesTheReaderTheCrThatWasLeftOut) {
  AstmFrame one = frame(1, "A");
  EXPECT_EQ(text_to_read(one), "A");
  one.deviations.set(static_cast<size_t>(AstmDeviation::kNoCr));
  EXPECT_EQ(text_to_read(one), "A\r");
}

}  // namespace
}  // namespace girdle::framing
