// Conversations after ASTM E1381 over terminals and TCP connections, with a sender that keeps the
// rules and one that breaks them, each in one way. The sender's and the receiver's rules are those
// that open libraries tell (github kxepal/python-astm; the Perl library
// Epidermis-Protocol-CLSI-LIS); the paid texts were not read.
#include "intake/line_session.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "astm_sender.h"
#include "intake/intake.h"

namespace girdle::intake {
namespace {

using namespace std::chrono_literals;
using config::AstmDeviation;
using framing::astm_frame;
using framing::astm_settings;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::IsSupersetOf;
using testing::Pair;

const std::vector<std::string> kMessage = {"H|\\^&\r", "P|1\r", "O|1|R1042\r", "R|1|^^^A1|N\r",
                                           "L|1|N\r"};

class LineSessionTest : public testing::TestWithParam<const char*> {
 protected:
  void SetUp() override {
    if (GetParam() == std::string("serial")) {
      wire = std::make_unique<SerialWire>();
    } else {
      wire = std::make_unique<TcpWire>();
    }
    settings.name = "counter-4-line";
    loop.sink.line_end = '\r';
  }
  void TearDown() override { loop.stop(); }

  void start(const config::Framing& framing = astm_settings()) {
    wire->configure(settings, framing);
    auto made = make_intake(settings, loop.sink, loop.clock, loop.log, loop.context.get_executor());
    ASSERT_TRUE(made.ok()) << made.error().text;
    intake = std::move(made).value();
    loop.start(*intake);
    ASSERT_TRUE(loop.until([&] { return wire->is_connected() && intake->status().up; }));
    sender = std::make_unique<AstmSender>(loop, *wire);
  }
  // The program dies, and begins again.
  void start_again(const config::Framing& framing = astm_settings()) {
    loop.stop();
    intake.reset();
    wire->hang_up();
    loop.sink.was_killed = false;
    start(framing);
  }
  // What the reader was fed of complete records, without the bytes that only waited.
  std::string read() const { return loop.sink.bytes_of(); }
  std::string all_of(const std::vector<std::string>& texts) const {
    std::string all;
    for (const std::string& text : texts) all += text;
    return all;
  }
  bool is_idle() {
    return loop.until([&] { return loop.sink.in_flight == 0 && intake->status().in_flight == 0; });
  }
  // True once the session's end is durable.
  bool is_over() {
    return loop.until([&] {
      framing::AstmSession session(astm_settings());
      for (const auto& [name, position] : loop.sink.positions) session.load(position.resume);
      return !loop.sink.positions.empty() && !session.is_open() && loop.sink.in_flight == 0;
    });
  }
  uint64_t counted(std::string_view name) const {
    for (const auto& [known, count] : intake->status().counts) {
      if (known == name) return count;
    }
    ADD_FAILURE() << "nothing counts " << name;
    return 0;
  }
  std::vector<std::string> reasons() const {
    std::vector<std::string> out;
    for (const auto& one : loop.sink.refused) out.push_back(one.aside.reason);
    return out;
  }

  Loop loop;
  std::unique_ptr<Wire> wire;
  config::Intake settings;
  std::unique_ptr<Intake> intake;
  std::unique_ptr<AstmSender> sender;
};

INSTANTIATE_TEST_SUITE_P(Wires, LineSessionTest, testing::Values("serial", "tcp"),
                         [](const auto& wire) { return std::string(wire.param); });

TEST_P(LineSessionTest, TakesAMessageAFrameAtATime) {
  start();
  ASSERT_TRUE(sender->deliver_all(kMessage));
  ASSERT_TRUE(is_over());
  EXPECT_EQ(read(), all_of(kMessage));
  EXPECT_THAT(loop.sink.refused, IsEmpty());
  EXPECT_EQ(counted("frames"), 5u);
  EXPECT_EQ(counted("sessions"), 1u);
  EXPECT_EQ(sender->within(30ms), "");  // EOT is not answered
  ASSERT_TRUE(sender->deliver_all(kMessage));
  ASSERT_TRUE(is_over());
  EXPECT_EQ(read(), all_of(kMessage) + all_of(kMessage));
  EXPECT_EQ(counted("sessions"), 2u);
}

TEST_P(LineSessionTest, TellsTheSinkADocumentThatGrows) {
  start();
  ASSERT_TRUE(sender->deliver_all({"H|\\^&\r", "P|1\r"}));
  ASSERT_TRUE(is_over());
  ASSERT_EQ(loop.sink.taken.size(), 3u);
  EXPECT_EQ(loop.sink.taken[1].document.offset, 6u);
  EXPECT_EQ(loop.sink.taken[1].document.size, 4u);
  EXPECT_EQ(loop.sink.taken[1].document.digest, base::sha256("P|1\r"));
  EXPECT_EQ(loop.sink.taken[1].document.intake, "counter-4-line");
  EXPECT_EQ(loop.sink.taken[1].resume, "1");  // what the reader of the frame before gave
  EXPECT_FALSE(loop.sink.taken[1].whole);
  EXPECT_TRUE(loop.sink.taken[2].whole);  // the end of the session
  EXPECT_EQ(loop.sink.taken[2].bytes, "");
}

// Promise 1: an answer is a promise that the frame is kept.
TEST_P(LineSessionTest, AcknowledgesAFrameOnlyOnceItIsDurable) {
  start();
  loop.sink.holds_back = true;
  ASSERT_TRUE(sender->enquire());
  for (const std::string& text : kMessage) {
    sender->send(sender->next_frame(text));
    ASSERT_TRUE(loop.until([&] { return loop.sink.in_flight == 1; }));
    EXPECT_EQ(sender->within(30ms), "") << text;
    EXPECT_THAT(read(), testing::Not(testing::EndsWith(text)));
    loop.sink.release();
    EXPECT_THAT(read(), testing::EndsWith(text));
    EXPECT_EQ(sender->answer(), kAck) << text;
  }
}

TEST_P(LineSessionTest, RefusesABadCopyAndTakesTheRepeat) {
  start();
  ASSERT_TRUE(sender->enquire());
  const std::string good = sender->next_frame("H|\\^&\r");
  std::string bad = good;
  bad[3] ^= 1;
  sender->send(bad);
  EXPECT_EQ(sender->answer(), kNak);
  EXPECT_TRUE(sender->deliver(good));
  sender->send(kEot);
  ASSERT_TRUE(is_over());
  EXPECT_EQ(read(), "H|\\^&\r");
  EXPECT_EQ(counted("refused"), 1u);
  EXPECT_THAT(loop.sink.refused, IsEmpty());  // the good copy stands for it
}

TEST_P(LineSessionTest, SetsAsideAFrameThatItsSenderGaveUp) {
  start();
  ASSERT_TRUE(sender->enquire());
  ASSERT_TRUE(sender->deliver_text("H|\\^&\r"));
  std::string bad = sender->next_frame("R|1|^^^A1|N\r");
  bad[3] ^= 1;
  EXPECT_FALSE(sender->deliver(bad));
  sender->send(kEot);
  ASSERT_TRUE(is_over());
  EXPECT_EQ(read(), "H|\\^&\r");
  EXPECT_EQ(counted("refused"), 6u);
  EXPECT_THAT(reasons(), ElementsAre(HasSubstr("the checksum of this frame is")));
  EXPECT_EQ(loop.sink.refused[0].aside.bytes, bad.substr(0, bad.size() - 2));
}

TEST_P(LineSessionTest, AcknowledgesARepeatAndStoresItOnce) {
  start();
  ASSERT_TRUE(sender->enquire());
  const std::string frame = sender->next_frame("R|1|^^^A1|N\r");
  for (int copies = 0; copies < 3; ++copies) EXPECT_TRUE(sender->deliver(frame));
  EXPECT_TRUE(sender->deliver_text("L|1|N\r"));
  EXPECT_EQ(read(), "R|1|^^^A1|N\rL|1|N\r");
  EXPECT_EQ(counted("repeated"), 2u);
}

// python-astm 0.5's tests (BSD), github kxepal/python-astm @606a774, astm/tests/test_codecs.py,
// test_encode_chunky: a record may begin and end anywhere in a frame.
TEST_P(LineSessionTest, JoinsRecordsThatGoOverManyFrames) {
  start(astm_settings({AstmDeviation::kSeveralRecords}));
  ASSERT_TRUE(sender->enquire());
  EXPECT_TRUE(sender->deliver_text("foo|1\rb", kEtb));
  EXPECT_TRUE(sender->deliver_text("ar|24\rb", kEtb));
  EXPECT_TRUE(sender->deliver_text("az|1^2^", kEtb));
  EXPECT_TRUE(sender->deliver_text("3|boo\r"));
  sender->send(kEot);
  ASSERT_TRUE(is_over());
  EXPECT_EQ(read(), "foo|1\rbar|24\rbaz|1^2^3|boo\r");
  EXPECT_EQ(counted("several_records"), 2u);
}

TEST_P(LineSessionTest, SetsAsideARecordWhoseRestNeverCame) {
  start();
  ASSERT_TRUE(sender->enquire());
  ASSERT_TRUE(sender->deliver_text("R|1|^^^A1|0.2", kEtb));
  sender->send(kEot);  // the sender gave up; read on, 0.2 would be a value that nobody measured
  ASSERT_TRUE(is_over());
  EXPECT_EQ(read(), "");
  EXPECT_THAT(reasons(), ElementsAre(HasSubstr("before the end of this record")));
  EXPECT_EQ(loop.sink.refused[0].aside.bytes, "R|1|^^^A1|0.2");
}

TEST_P(LineSessionTest, EndsASessionAfterASilence) {
  config::Framing framing = astm_settings();
  framing.timeout = 500ms;
  start(framing);
  ASSERT_TRUE(sender->enquire());
  ASSERT_TRUE(sender->deliver_text("R|1|^^^A1|0.2", kEtb));
  sender->send(
      "\x02"
      "2half");
  ASSERT_TRUE(is_over());
  EXPECT_EQ(counted("timed_out"), 1u);
  ASSERT_TRUE(loop.until([&] { return loop.sink.refused.size() == 2; }));
  EXPECT_THAT(reasons(), ElementsAre(HasSubstr("before the end of this record"),
                                     HasSubstr("nothing more of this frame")));
  sender->send(sender->next_frame("95\r"));
  EXPECT_EQ(sender->within(50ms), "");  // there is no session any more
  EXPECT_TRUE(sender->deliver_all(kMessage));
}

TEST_P(LineSessionTest, TheSilenceThatEndsASessionIsThatOfTheSender) {
  config::Framing framing = astm_settings();
  framing.timeout = 500ms;
  start(framing);
  ASSERT_TRUE(sender->enquire());
  loop.sink.holds_back = true;
  sender->send(sender->next_frame("H|\\^&\r"));
  loop.run_for(700ms);  // a slow disk is no silence
  loop.sink.release();
  EXPECT_EQ(sender->answer(), kAck);
  // A frame that comes slowly is none either.
  const std::string slow = sender->next_frame("P|1|a long name\r");
  for (const char byte : slow) {
    sender->send({&byte, 1});
    loop.run_for(30ms);
  }
  ASSERT_TRUE(loop.until([&] { return loop.sink.in_flight == 1; }));
  loop.sink.release();
  EXPECT_EQ(sender->answer(), kAck);
  EXPECT_EQ(counted("timed_out"), 0u);
}

TEST_P(LineSessionTest, AnswersNoFrameWithoutASessionAndSetsItAsideOnce) {
  start();
  for (int copies = 0; copies < 3; ++copies) sender->send(astm_frame(1, "R|1|^^^A1|N\r"));
  EXPECT_EQ(sender->within(50ms), "");
  ASSERT_TRUE(is_idle());
  EXPECT_EQ(read(), "");
  EXPECT_THAT(reasons(), ElementsAre(HasSubstr("no_enq: true")));
  EXPECT_EQ(counted("ignored"), 3u);
}

// Contention comes of two that ask for the line. This end never does: it only answers, also a
// sender that asks again because it heard nothing.
TEST_P(LineSessionTest, NeverAsksForTheLineAndAnswersEveryEnq) {
  start();
  EXPECT_EQ(sender->within(50ms), "");
  for (int times = 0; times < 3; ++times) EXPECT_TRUE(sender->enquire());
  EXPECT_TRUE(sender->deliver_text("H|\\^&\r"));
  EXPECT_EQ(counted("sessions"), 1u);
}

TEST_P(LineSessionTest, RefusesEnqInTheMiddleOfASessionUnlessEotMayBeMissing) {
  start();
  ASSERT_TRUE(sender->enquire());
  ASSERT_TRUE(sender->deliver_text("H|\\^&\r"));
  sender->send(kEnq);
  EXPECT_EQ(sender->answer(), kNak);
  EXPECT_TRUE(sender->deliver_text("P|1\r"));  // the session goes on

  start_again(astm_settings({AstmDeviation::kNoEot}));
  ASSERT_TRUE(sender->enquire());
  for (int sessions = 0; sessions < 3; ++sessions) {
    EXPECT_TRUE(sender->deliver_text("H|\\^&\r"));
    EXPECT_TRUE(sender->enquire());
  }
  EXPECT_EQ(counted("no_eot"), 3u);
  EXPECT_EQ(counted("sessions"), 4u);
}

TEST_P(LineSessionTest, GoesOnWithoutEnqAndEotWhereTheyMayBeMissing) {
  start(astm_settings({AstmDeviation::kNoEnq, AstmDeviation::kNoEot}));
  for (int sessions = 0; sessions < 2; ++sessions) {
    for (size_t i = 0; i < kMessage.size(); ++i) {
      EXPECT_TRUE(sender->deliver(astm_frame(static_cast<int>(i) + 1, kMessage[i])));
    }
  }
  EXPECT_EQ(read(), all_of(kMessage) + all_of(kMessage));
  EXPECT_EQ(counted("no_enq"), 2u);
  EXPECT_EQ(counted("no_eot"), 1u);
  EXPECT_EQ(counted("sessions"), 2u);
}

// Common practice, no source: what senders are known to do. A number that is left out or stays the
// same, and the deviations within a frame.
TEST_P(LineSessionTest, CountsEachDeviationUnderTheNameOfItsSwitch) {
  const auto all = [](const std::vector<AstmDeviation>& accept) { return astm_settings(accept); };
  using D = AstmDeviation;
  const std::string whole = astm_frame(1, "A|1\r");  // its sum is 2F hex
  ASSERT_THAT(whole, HasSubstr("2F\r\n"));
  const auto with = [&](std::string_view check) {
    return whole.substr(0, whole.size() - 4) + std::string(check);
  };
  const std::vector<std::pair<D, std::string>> frames = {
      {D::kChecksumWithStx, with("31\r\n")},
      {D::kChecksumWithoutEnd, with("2C\r\n")},
      {D::kLowerCase, with("2f\r\n")},
      {D::kNoChecksum, with("\r\n")},
      {D::kNoCr, astm_frame(1, "A|1")},
      {D::kNoCrlf, with("2F")},
      {D::kSeveralRecords, astm_frame(1, "A|1\rB|2\r")},
      {D::kSplitRecords, astm_frame(1, "A|1")},
      {D::kSkippedNumber, astm_frame(5, "A|1\r")},
  };
  for (const auto& [deviation, frame] : frames) {
    const auto name = config::kAstmDeviationNames[static_cast<size_t>(deviation)];
    SCOPED_TRACE(name);
    start(all({deviation}));
    ASSERT_TRUE(sender->enquire());
    EXPECT_TRUE(sender->deliver(frame));
    EXPECT_EQ(counted(name), 1u);
    sender->send(kEot);
    ASSERT_TRUE(is_over());

    start_again();
    ASSERT_TRUE(sender->enquire());
    if (deviation == D::kNoCrlf) {
      sender->send(frame);  // not answered: the frame is not complete
    } else {
      EXPECT_FALSE(sender->deliver(frame));
    }
    sender->send(kEot);
    ASSERT_TRUE(loop.until([&] { return !loop.sink.refused.empty(); }));
    const std::string reason = deviation == D::kSplitRecords ? "no_cr" : std::string(name);
    EXPECT_THAT(reasons(), ElementsAre(HasSubstr("{ " + reason + ": true }")));
    ASSERT_TRUE(is_idle());
    loop.stop();
    wire->hang_up();
    loop.sink.refused.clear();
    loop.sink.positions.clear();
  }
}

TEST_P(LineSessionTest, TakesNumbersThatStayTheSameAndTheirRepeatsOnce) {
  start(astm_settings({AstmDeviation::kConstantNumber}));
  ASSERT_TRUE(sender->enquire());
  for (const std::string& text : kMessage) {
    EXPECT_TRUE(sender->deliver(astm_frame(1, text)));
    EXPECT_TRUE(sender->deliver(astm_frame(1, text)));
  }
  EXPECT_EQ(read(), all_of(kMessage));
  EXPECT_EQ(counted("constant_number"), 4u);
  EXPECT_EQ(counted("repeated"), 5u);
}

TEST_P(LineSessionTest, AddsTheCrThatEtxStandsFor) {
  start(astm_settings({AstmDeviation::kNoCr}));
  ASSERT_TRUE(sender->deliver_all({"H|\\^&", "R|1|^^^A1|N", "L|1|N"}));
  ASSERT_TRUE(is_over());
  EXPECT_EQ(read(), "H|\\^&\rR|1|^^^A1|N\rL|1|N\r");
}

TEST_P(LineSessionTest, LetsARecordGoOnBehindEtxWhereThatIsSaid) {
  start(astm_settings({AstmDeviation::kSplitRecords}));
  ASSERT_TRUE(sender->deliver_all({"H|\\^&\r", "R|1|^^^A1|0.", "295\r", "L|1|N"}));
  ASSERT_TRUE(is_over());
  // The last record's end is the reader's to judge: the sender ended the session.
  EXPECT_EQ(read(), "H|\\^&\rR|1|^^^A1|0.295\rL|1|N");
  EXPECT_THAT(loop.sink.refused, IsEmpty());
  EXPECT_TRUE(loop.sink.taken.back().whole);
}

TEST_P(LineSessionTest, ReadsAConversationByteByByteAndAllAtOnce) {
  start();
  std::string whole = kEnq;
  for (size_t i = 0; i < kMessage.size(); ++i)
    whole += astm_frame(static_cast<int>(i) + 1, kMessage[i]);
  whole += kEot;
  for (const char byte : whole) {
    sender->send({&byte, 1});
    loop.run_for(1ms);
  }
  ASSERT_TRUE(is_over());
  EXPECT_EQ(read(), all_of(kMessage));
  // A sender that does not wait is not held up, and not answered while it speaks.
  sender->within(1ms);
  sender->send(whole);
  ASSERT_TRUE(loop.until([&] { return counted("frames") == 10; }));
  ASSERT_TRUE(is_over());
  EXPECT_EQ(read(), all_of(kMessage) + all_of(kMessage));
  EXPECT_THAT(loop.sink.refused, IsEmpty());
}

TEST_P(LineSessionTest, StopsReadingASenderThatDoesNotWait) {
  start();
  loop.sink.holds_back = true;
  ASSERT_TRUE(sender->enquire());
  std::vector<std::string> texts;
  for (int i = 0; i < 300; ++i) {
    texts.push_back("R|" + std::to_string(i) + "\r");
    sender->send(sender->next_frame(texts.back()));
    if (i % 50 == 0) loop.run_for(5ms);
  }
  loop.run_for(50ms);
  EXPECT_EQ(loop.sink.in_flight, 1);
  EXPECT_EQ(loop.sink.begun, 1);
  loop.sink.holds_back = false;
  loop.sink.release();
  ASSERT_TRUE(loop.until([&] { return counted("frames") == 300; }));
  EXPECT_EQ(read(), all_of(texts));
}

TEST_P(LineSessionTest, OffersAFrameAgainAfterAFailedCommitAndAnswersOnce) {
  start();
  ASSERT_TRUE(sender->enquire());
  loop.sink.fails = [](int number) { return number == 1; };
  sender->send(sender->next_frame("H|\\^&\r"));
  EXPECT_EQ(sender->answer(), kAck);
  EXPECT_EQ(loop.sink.commits, 2);
  EXPECT_EQ(read(), "H|\\^&\r");
  EXPECT_EQ(intake->status().failed, 1u);
}

TEST_P(LineSessionTest, IsSilentWhileCommitsFailAndTakesTheSendersRepeat) {
  start();
  ASSERT_TRUE(sender->enquire());
  loop.sink.fails = [](int) { return true; };
  const std::string frame = sender->next_frame("H|\\^&\r");
  sender->send(frame);
  ASSERT_TRUE(loop.until([&] { return intake->status().failed == 1; }));
  EXPECT_EQ(sender->within(50ms), "");
  loop.sink.fails = [](int) { return false; };
  sender->send(frame);
  EXPECT_EQ(sender->answer(), kAck);
  EXPECT_TRUE(sender->deliver_text("P|1\r"));
  EXPECT_EQ(read(), "H|\\^&\rP|1\r");
}

// The program dies when the frame is durable and before the answer went out: the sender repeats it.
TEST_P(LineSessionTest, KnowsTheRepeatOfAFrameThatWasDurableWhenTheProgramWasKilled) {
  for (size_t killed_at = 0; killed_at < kMessage.size(); ++killed_at) {
    SCOPED_TRACE(killed_at);
    start();
    ASSERT_TRUE(sender->enquire());
    for (size_t i = 0; i < kMessage.size(); ++i) {
      const std::string frame = sender->next_frame(kMessage[i]);
      if (i == killed_at) {
        loop.sink.was_killed = true;
        sender->send(frame);
        ASSERT_TRUE(loop.until([&] {
          return read() == all_of({kMessage.begin(), kMessage.begin() + static_cast<long>(i) + 1});
        }));
        EXPECT_EQ(sender->within(20ms), "");
        const int number = sender->number();
        start_again();
        for (int n = 0; n < number; ++n) sender->next_frame("");  // it goes on counting
      }
      ASSERT_TRUE(sender->deliver(frame)) << i;
    }
    sender->send(kEot);
    ASSERT_TRUE(is_over());
    EXPECT_EQ(read(), all_of(kMessage));
    EXPECT_THAT(loop.sink.refused, IsEmpty());
    loop.stop();
    wire->hang_up();
    loop.sink.taken.clear();
    loop.sink.positions.clear();
  }
}

// What was acknowledged of a record is durable before the rest of it comes.
TEST_P(LineSessionTest, GoesOnInTheMiddleOfARecordAfterItWasKilled) {
  start();
  ASSERT_TRUE(sender->enquire());
  ASSERT_TRUE(sender->deliver_text("H|\\^&\r"));
  ASSERT_TRUE(sender->deliver_text("R|1|^^^A1|0.2", kEtb));
  start_again();
  EXPECT_TRUE(sender->deliver(astm_frame(3, "95\r")));
  EXPECT_EQ(read(), "H|\\^&\rR|1|^^^A1|0.295\r");
  EXPECT_EQ(loop.sink.taken.back().resume, "1");
}

TEST_P(LineSessionTest, LosesNothingThatWasAcknowledgedWhenItIsKilledBeforeTheCommit) {
  start();
  ASSERT_TRUE(sender->enquire());
  ASSERT_TRUE(sender->deliver_text("H|\\^&\r"));
  loop.sink.holds_back = true;
  sender->send(sender->next_frame("P|1\r"));
  ASSERT_TRUE(loop.until([&] { return loop.sink.in_flight == 1; }));
  loop.stop();
  loop.sink.was_killed = true;
  loop.sink.fails = [](int) { return true; };
  intake.reset();
  loop.sink.holds_back = false;
  start_again();
  loop.sink.fails = [](int) { return false; };
  EXPECT_EQ(read(), "H|\\^&\r");
  EXPECT_TRUE(sender->deliver(astm_frame(2, "P|1\r")));
  EXPECT_EQ(read(), "H|\\^&\rP|1\r");
}

// A sender that lost the line too begins again with ENQ, and sends all of its message again.
TEST_P(LineSessionTest, TakesANewSessionAfterTheLineWasLost) {
  start();
  ASSERT_TRUE(sender->enquire());
  ASSERT_TRUE(sender->deliver_text("H|\\^&\r"));
  ASSERT_TRUE(sender->deliver_text("R|1|^^^A1|0.2", kEtb));
  wire->hang_up();
  ASSERT_TRUE(loop.until([&] { return !intake->status().up; }));
  ASSERT_TRUE(loop.until([&] { return wire->is_connected() && intake->status().up; }));
  EXPECT_EQ(sender->within(30ms), "");  // nothing that was meant for the line before
  EXPECT_TRUE(sender->deliver_all(kMessage));
  ASSERT_TRUE(is_over());
  EXPECT_EQ(read(), "H|\\^&\r" + all_of(kMessage));
  EXPECT_THAT(reasons(), ElementsAre(HasSubstr("before the end of this record")));
}

TEST_P(LineSessionTest, SetsAsideWhatStandsBetweenFrames) {
  start();
  sender->send("AT+GMM\r");
  EXPECT_TRUE(sender->deliver_all(kMessage));
  ASSERT_TRUE(is_over());
  EXPECT_THAT(reasons(), ElementsAre("bytes between frames"));
  EXPECT_EQ(read(), all_of(kMessage));
}

TEST_P(LineSessionTest, StopsAtOnceInTheMiddleOfASession) {
  start();
  ASSERT_TRUE(sender->enquire());
  sender->send(
      "\x02"
      "1R|");
  loop.run_for(20ms);
  const auto began = std::chrono::steady_clock::now();
  loop.stop();
  EXPECT_LT(std::chrono::steady_clock::now() - began, 1s);
  EXPECT_THAT(loop.log.text(), testing::Not(HasSubstr("lost")));  // nothing was promised
}

// Without a line: the times are short, and every step is seen.
class DeskTest : public testing::Test {
 protected:
  DeskTest() { loop.sink.line_end = '\r'; }
  void make(const config::Framing& framing, LineSession::Times times) {
    desk.emplace("a", "line", framing, loop.sink, loop.clock, bell, status, times);
    desk->opened();
  }
  void hand_over() {
    bool done = false;
    boost::asio::co_spawn(loop.context, desk->hand_over(), [&](std::exception_ptr fault) {
      EXPECT_FALSE(fault);
      done = true;
    });
    ASSERT_TRUE(loop.until([&] { return done; }));
  }
  std::string answer() {
    hand_over();
    const std::string answer(desk->answer());
    desk->answered();
    return answer;
  }
  // Also of what came twice.
  std::string answer_in_time() {
    const auto end = std::chrono::steady_clock::now() + 500ms;
    std::string got;
    loop.until([&] {
      got = answer();
      return !got.empty() || std::chrono::steady_clock::now() > end;
    });
    return got;
  }

  Loop loop;
  Bell bell{loop.context.get_executor()};
  Status status;
  std::optional<LineSession> desk;
};

// A sender waits 15 s for an answer (the Perl library Epidermis-Protocol-CLSI-LIS quotes it of the
// standard); later it does something else.
TEST_F(DeskTest, DoesNotAnswerWhenTheSenderHasStoppedWaiting) {
  LineSession::Times times;
  EXPECT_LT(times.answer_within, 15s);
  times.answer_within = 20ms;
  make(astm_settings(), times);
  desk->feed(kEnq);
  EXPECT_EQ(answer(), kAck);
  loop.sink.holds_back = true;
  desk->feed(astm_frame(1, "A\r"));
  EXPECT_EQ(answer(), "");
  loop.run_for(30ms);
  loop.sink.release();
  EXPECT_EQ(answer(), "");
  EXPECT_EQ(loop.sink.bytes_of(), "A\r");
  desk->feed(astm_frame(1, "A\r"));  // it repeats the frame all the same
  EXPECT_EQ(answer_in_time(), kAck);
  EXPECT_EQ(loop.sink.bytes_of(), "A\r");
}

// An answer that is no longer waited for would be taken for the answer to what came since.
TEST_F(DeskTest, DoesNotAnswerAFrameThatItsSenderGaveUp) {
  make(astm_settings(), {});
  desk->feed(kEnq);
  EXPECT_EQ(answer(), kAck);
  loop.sink.holds_back = true;
  desk->feed(astm_frame(1, "A\r"));
  EXPECT_EQ(answer(), "");
  desk->feed(kEot + kEnq);
  loop.sink.holds_back = false;
  loop.sink.release();
  EXPECT_EQ(desk->answer(), "");
  ASSERT_TRUE(loop.until([&] {
    hand_over();
    return !desk->answer().empty();
  }));
  EXPECT_EQ(answer(), kAck);  // ENQ's, once the end of the session is durable
  EXPECT_EQ(answer(), "");
  EXPECT_EQ(loop.sink.bytes_of(), "A\r");
}

TEST_F(DeskTest, AnswersARepeatedFrameOnceThoughItCameTwiceBeforeItWasDurable) {
  make(astm_settings(), {});
  desk->feed(kEnq);
  EXPECT_EQ(answer(), kAck);
  loop.sink.holds_back = true;
  desk->feed(astm_frame(1, "A\r"));
  EXPECT_EQ(answer(), "");
  desk->feed(astm_frame(1, "A\r"));
  EXPECT_EQ(answer(), "");
  loop.sink.release();
  EXPECT_EQ(desk->answer(), "");
  EXPECT_EQ(answer_in_time(), kAck);
  EXPECT_EQ(answer(), "");
  EXPECT_EQ(loop.sink.bytes_of(), "A\r");
}

// A sender that repeats a frame just when its answer is on the way takes that answer, and sends the
// next frame. A second answer would be taken for that one's.
TEST_F(DeskTest, DoesNotAnswerARepeatThatCrossedTheFirstAnswer) {
  LineSession::Times times;
  EXPECT_LT(times.crossing, 1s);
  times.crossing = 50ms;
  make(astm_settings(), times);
  desk->feed(kEnq);
  EXPECT_EQ(answer(), kAck);
  desk->feed(kEnq);
  EXPECT_EQ(answer(), "");
  loop.sink.holds_back = true;
  desk->feed(astm_frame(1, "A\r"));
  EXPECT_EQ(answer(), "");
  loop.run_for(80ms);
  EXPECT_EQ(answer(), "");
  loop.sink.release();
  EXPECT_EQ(answer(), kAck);
  desk->feed(astm_frame(1, "A\r"));
  EXPECT_EQ(answer(), "");
  desk->feed(astm_frame(2, "B\r"));
  EXPECT_EQ(answer(), "");
  loop.run_for(80ms);
  EXPECT_EQ(answer(), "");
  loop.sink.release();
  EXPECT_EQ(answer(), kAck);
  EXPECT_EQ(answer_in_time(), "");
}

TEST_F(DeskTest, DoesNotAnswerWhileTheNextFrameIsComing) {
  make(astm_settings(), {});
  desk->feed(kEnq);
  EXPECT_EQ(answer(), kAck);
  loop.sink.holds_back = true;
  desk->feed(astm_frame(1, "A\r"));
  EXPECT_EQ(answer(), "");
  desk->feed(astm_frame(1, "A\r").substr(0, 3));
  loop.sink.release();
  EXPECT_EQ(answer(), "");
  desk->feed(astm_frame(1, "A\r").substr(3));
  EXPECT_EQ(answer_in_time(), kAck);
}

// One of a session's commits fails, each in a run of its own.
TEST_F(DeskTest, LosesNothingAndStoresNothingTwiceWhicheverCommitFails) {
  LineSession::Times times;
  times.retry = 5ms;
  std::string all;
  for (const std::string& text : kMessage) all += text;
  for (int failing = 1; failing <= 6; ++failing) {
    SCOPED_TRACE("commit " + std::to_string(failing) + " fails");
    loop.sink.taken.clear();
    loop.sink.positions.clear();
    loop.sink.commits = 0;
    loop.sink.fails = [failing](int number) { return number == failing; };
    status = {};
    make(astm_settings(), times);
    desk->feed(kEnq);
    EXPECT_EQ(answer(), kAck);
    for (size_t i = 0; i < kMessage.size(); ++i) {
      desk->feed(astm_frame(static_cast<int>(i) + 1, kMessage[i]));
      ASSERT_TRUE(loop.until([&] {
        hand_over();
        return !desk->answer().empty();
      }));
      EXPECT_EQ(loop.sink.taken.size(), i + 1);
      EXPECT_EQ(answer(), kAck);
    }
    desk->feed(kEot);
    ASSERT_TRUE(loop.until([&] {
      hand_over();
      return loop.sink.taken.size() == kMessage.size() + 1;
    }));
    EXPECT_EQ(loop.sink.bytes_of(), all);
    EXPECT_EQ(status.failed, 1u);
  }
}

TEST_F(DeskTest, TakesAFrameWhoseEndMayBeMissingAfterAShortSilence) {
  LineSession::Times times;
  EXPECT_GE(times.quiet, 50ms);  // converters make gaps of 16 ms
  times.quiet = 20ms;
  make(astm_settings({AstmDeviation::kNoCrlf, AstmDeviation::kNoChecksum}), times);
  desk->feed(kEnq +
             "\x02"
             "1A\r\x03");
  EXPECT_EQ(answer(), "");
  EXPECT_LE(desk->next_due(), std::chrono::steady_clock::now() + 20ms);
  loop.run_for(30ms);
  hand_over();
  ASSERT_TRUE(loop.until([&] { return loop.sink.taken.size() == 1; }));
  EXPECT_EQ(answer(), kAck);
}

TEST_F(DeskTest, AnswersNothingOfALineThatWasLost) {
  make(astm_settings(), {});
  desk->feed(kEnq);
  EXPECT_EQ(answer(), kAck);
  loop.sink.holds_back = true;
  desk->feed(astm_frame(1, "A\r"));
  EXPECT_EQ(answer(), "");
  desk->lost();
  desk->opened();
  loop.sink.release();
  EXPECT_EQ(answer(), "");
  EXPECT_EQ(loop.sink.bytes_of(), "A\r");
}

TEST_F(DeskTest, SetsAsideARightFrameThatWasRefusedWhenAnotherComes) {
  make(astm_settings(), {});
  desk->feed(kEnq);
  EXPECT_EQ(answer(), kAck);
  desk->feed(astm_frame(3, "C\r"));
  EXPECT_EQ(answer(), kNak);
  desk->feed(astm_frame(4, "D\r"));
  EXPECT_EQ(answer(), kNak);
  ASSERT_TRUE(loop.until([&] { return loop.sink.refused.size() == 1; }));
  EXPECT_THAT(loop.sink.refused[0].aside.bytes, HasSubstr("3C\r"));
  desk->feed(kEot);
  hand_over();
  ASSERT_TRUE(loop.until([&] { return loop.sink.refused.size() == 2; }));
  EXPECT_THAT(loop.sink.refused[1].aside.bytes, HasSubstr("4D\r"));
}

TEST_F(DeskTest, EndsASessionThatStoodOpenTooLongBeforeTheStart) {
  base::ManualClock clock(base::from_millis(1767225600000));
  const auto session_after = [&](std::chrono::milliseconds away) {
    Status counted;
    desk.emplace("a", "line", astm_settings(), loop.sink, clock, bell, counted,
                 LineSession::Times{});
    desk->opened();
    desk->feed(kEnq);
    EXPECT_EQ(answer(), kAck);
    desk->feed(astm_frame(1, "R|1|0.2", kEtb));
    hand_over();
    EXPECT_TRUE(loop.until([&] { return loop.sink.in_flight == 0; }));
    EXPECT_EQ(answer(), kAck);
    clock.advance(away);
    desk.emplace("a", "line", astm_settings(), loop.sink, clock, bell, counted,
                 LineSession::Times{});
    desk->opened();
    desk->feed(astm_frame(2, "95\r"));
    hand_over();
    EXPECT_TRUE(loop.until([&] {
      hand_over();
      return loop.sink.in_flight == 0;
    }));
    return answer();
  };
  EXPECT_EQ(session_after(20s), kAck);
  EXPECT_EQ(loop.sink.bytes_of(), "R|1|0.295\r");
  loop.sink.positions.clear();
  EXPECT_EQ(session_after(40s), "");
  EXPECT_THAT(loop.sink.refused[0].aside.bytes, "R|1|0.2");
}

TEST_F(DeskTest, TakesOverNothingThatIsNoSession) {
  loop.sink.positions["line"] = {.intake = "a", .name = "line", .resume = "of a file"};
  make(astm_settings(), {});
  desk->feed(kEnq);
  EXPECT_EQ(answer(), kAck);
}

}  // namespace
}  // namespace girdle::intake
